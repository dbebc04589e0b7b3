"""Entries of a layout's TOML file, each checked by its own rule; a mistake names the file, the entry and the rule."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NoReturn

from pipeline.errors import UnreadableError
from pipeline.intake.layouts import Completes, RecordText, comparable
from pipeline.normalise.forms import TYPED, forms_of
from pipeline.standard_log import LISTS, Column, column_names

# Columns of a work whose cell may hold several works; what a row costs cannot be shared out among them.
SPLITTABLE = ("part_no", "part_name", "action", "quantity")
# By what rows of one file can be told to belong to visits of another.
MATCHING = (("job_id",), ("site_id", "finished_at"), ("site_id", "reported_at"))


class Entries:
    """
    What one layout file says.

    Parameters
    ----------
    content : dict
        The parsed TOML file.
    kind : str
        Kind of file: log, machines, parts, stock or notices.
    where : str
        What to call the layout file in a message.

    Raises
    ------
    UnreadableError
        From each method, if its entry breaks a rule.
    """

    def __init__(self, content: dict[str, Any], kind: str, where: str) -> None:
        self.content, self.kind, self.where = content, kind, where
        self._columns: dict[str, Column] = {column.name: column for column in LISTS[kind]}

    def columns(self) -> dict[str, tuple[str, ...]]:
        """Headers by standard column."""
        entry = self.content.get("columns", {} if "record" in self.content else "standard")
        if entry == "standard":
            return {name: (name,) for name in column_names(self.kind)}
        if not isinstance(entry, dict) or not (entry or "record" in self.content):
            self.refuse("columns", 'must be "standard" or a table of column = "header"')
        self._refuse_strange(entry, "columns")
        columns = {
            column: self._texts([value] if isinstance(value, str) else value, f"columns.{column}")
            for column, value in entry.items()
        }
        for column, headers in columns.items():
            if len(headers) > 1 and self._columns[column].kind not in ("identity", "moment"):
                raise UnreadableError(
                    f"{self.where}: {column} is made from several headers; only an identity can be, "
                    "or a moment (of its day and its time)."
                )
        return columns

    def headers(self, name: str) -> tuple[str, ...]:
        """A list of headers."""
        return self._texts(self.content[name], name) if self.content.get(name) else ()

    def missing(self) -> dict[str, tuple[str, ...]]:
        """What stands for "nothing known", by column."""
        return {
            column: self._texts(markers, f"missing.{column}")
            for column, markers in self._by_column("missing").items()
        }

    def values(self) -> dict[str, dict[str, str]]:
        """Meaning of the file's own words, by column."""
        return {
            column: self._words(words, f"values.{column}")
            for column, words in self._by_column("values").items()
        }

    def not_recorded(self) -> tuple[str, ...]:
        """Columns that nobody wrote down; one that the file has cannot be among them."""
        names = self._column_list("not_recorded")
        self._refuse_both(names, "not_recorded")
        return names

    def constants(self) -> dict[str, str]:
        """Value of every row, by column; a column that the file has can have none."""
        values = self._by_column("constants")
        for column, value in values.items():
            if not isinstance(value, str) or not value.strip():
                self.refuse(f"constants.{column}", 'must be a text, such as unit_type = "washer"')
        self._refuse_both(values, "constants")
        return dict(values)

    def set_aside(self) -> dict[str, tuple[str, ...]]:
        """Words in a cell that mark a row that is no line of work, by header."""
        return {
            header: self._texts(words, f"set_aside.{header!r}")
            for header, words in self.table("set_aside").items()
        }

    def forms(self) -> dict[str, str]:
        """Written form by column, as a person decided it."""
        chosen = self._by_column("forms")
        for column, form in chosen.items():
            typed = TYPED.get(self._columns[column].kind)
            if typed is None:
                self.refuse(f"forms.{column}", "can be said of a date, a number or an amount only")
            names = [each.name for each in forms_of(typed)]
            if form not in names:
                self.refuse(f"forms.{column}", f"must be one of {', '.join(names)}, but was {form!r}")
        return dict(chosen)

    def split(self) -> tuple[str, ...]:
        """Columns whose cells may hold several works."""
        names = self._column_list("split")
        record = self.record()
        if record is not None:
            # Works of a text are told as lists.
            names = tuple(
                dict.fromkeys((*names, *(name for name in SPLITTABLE if name in record.all_columns)))
            )
        for name in names:
            if name not in SPLITTABLE:
                self.refuse("split", f"may name {', '.join(SPLITTABLE)}, but not {name}")
        return names

    def record(self) -> RecordText | None:
        """The text that is the whole record."""
        if "record" not in self.content:
            return None
        table = self.table("record")
        if self.kind != "log":
            self.refuse("record", "can be said of a log only")
        self.refuse_unknown(table, ("text", "sections", "columns"), "record")
        text = table.get("text")
        if not isinstance(text, str) or not text.strip():
            self.refuse("record.text", "must be the header of the text that is the whole record")
        sections = table.get("sections", {})
        if not isinstance(sections, dict):
            self.refuse("record.sections", 'must be a table of "word that opens a section" = [columns]')
        record = RecordText(
            text,
            {
                word: self._read_columns(names, f"record.sections.{word!r}")
                for word, names in sections.items()
            },
            self._read_columns(table["columns"], "record.columns") if "columns" in table else (),
        )
        if not record.all_columns:
            self.refuse("record", "needs [record.sections], or columns = [columns read from the whole text]")
        self._refuse_both(record.all_columns, "record")
        self._refuse_twins(record)
        return record

    def completes(self) -> Completes | None:
        """The visits of another file that the rows say more about."""
        if "completes" not in self.content:
            return None
        table = self.table("completes")
        self.refuse_unknown(table, ("layout", "by"), "completes")
        layout, by = table.get("layout"), self._texts(table.get("by"), "completes.by")
        if not isinstance(layout, str) or not layout:
            self.refuse("completes.layout", "must be the name of the layout whose visits the rows complete")
        if by not in MATCHING:
            ways = " or ".join(str(list(way)).replace("'", '"') for way in MATCHING)
            self.refuse("completes.by", f"must be {ways}")
        return Completes(layout, by)

    def technician_from(self) -> str:
        """Where the technician stands, if it is in no column."""
        said = self.content.get("technician_from", "")
        if said not in ("", "sheet"):
            self.refuse(
                "technician_from", 'can only be "sheet": each sheet of a workbook is one technician\'s'
            )
        if said:
            self._refuse_strange(("technician",), "technician_from")
            self._refuse_both(("technician",), "technician_from")
        return str(said)

    def _read_columns(self, value: Any, entry: str) -> tuple[str, ...]:
        names = self._texts(value, entry)
        self._refuse_strange(names, entry)
        for name in names:
            if name == "note":
                self.refuse(entry, "cannot name note: name the columns that the text is read for")
        return names

    def _refuse_twins(self, record: RecordText) -> None:
        words = [comparable(word.rstrip(": ")) for word in record.sections]
        if len(set(words)) < len(words) or not all(words):
            self.refuse("record.sections", "must have a word of its own for each section")
        if comparable(record.text) in {
            comparable(header) for headers in self.columns().values() for header in headers
        }:
            self.refuse("record.text", "is read for its sections, so no column can be made from it whole")

    def _refuse_both(self, names: Iterable[str], entry: str) -> None:
        """A column is said once: by a header, a constant, the record, or as never recorded."""
        said = {"columns": set(self.columns()) if isinstance(self.content.get("columns"), dict) else set()}
        said["constants"] = set(self.content.get("constants", {})) if entry != "constants" else set()
        for other, columns in said.items():
            both = sorted(columns & set(names))
            if both:
                self.refuse(entry, f"names {both[0]}, which {other} already says")

    def table(self, name: str) -> dict[str, Any]:
        """A table of the file, empty where there is none."""
        table = self.content.get(name, {})
        if not isinstance(table, dict):
            self.refuse(name, "must be a table")
        return table

    def _by_column(self, name: str) -> dict[str, Any]:
        table = self.content.get(name, {})
        if not isinstance(table, dict):
            self.refuse(name, "must be a table by column")
        self._refuse_strange(table, name)
        return table

    def _column_list(self, name: str) -> tuple[str, ...]:
        names = self._texts(self.content[name], name) if name in self.content else ()
        self._refuse_strange(names, name)
        return names

    def _refuse_strange(self, names: Iterable[str], entry: str) -> None:
        strange = [name for name in names if name not in self._columns]
        if strange:
            self.refuse(entry, f"{strange[0]!r} is no column of a file of kind {self.kind}", sep=":")

    def refuse_unknown(self, table: Mapping[str, Any], known: tuple[str, ...], entry: str) -> None:
        """Refuse a table with entries that nothing reads."""
        unknown = sorted(set(table) - set(known))
        if unknown:
            self.refuse(entry, f"has no entry {unknown[0]!r}; it has {', '.join(known)}")

    def _texts(self, value: Any, entry: str) -> tuple[str, ...]:
        if not isinstance(value, list) or not value or not _all_texts(value):
            self.refuse(entry, "must be a list of one or more texts")
        return tuple(value)

    def _words(self, value: Any, entry: str) -> dict[str, str]:
        if not isinstance(value, dict) or not _all_texts(value.values()):
            self.refuse(entry, 'must be a table of "word in the file" = "meaning"')
        return dict(value)

    def refuse(self, entry: str, rule: str, sep: str = "") -> NoReturn:
        """Say which rule an entry of the file breaks."""
        raise UnreadableError(f"{self.where}: {entry}{sep} {rule}.")


def _all_texts(values: Any) -> bool:
    return all(isinstance(item, str) for item in values)
