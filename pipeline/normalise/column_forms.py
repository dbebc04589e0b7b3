"""Which form each typed column of each file is read in: decided once, and kept with its evidence in normalise.forms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import duckdb
import pyarrow as pa

from pipeline.normalise import column_facts
from pipeline.normalise.evidence import Decision, decide
from pipeline.normalise.files import LayoutReading
from pipeline.normalise.forms import OR, TYPED, Form, Typed, default_form, form_named
from pipeline.normalise.tables import store_rows
from pipeline.standard_log import LISTS

UNKNOWN_TAX = "unknown"
# Half the cells of a column may be below five, and still nobody checks a part for hours.
ALWAYS = {"check_min": Decision("minutes", "a check takes minutes, not hours")}
DOLLAR = "$"  # a dollar that nobody named
_SCHEMA = pa.schema(
    [
        ("file_no", pa.int32()),
        *((name, pa.string()) for name in ("column_name", "form", "evidence", "tax_basis", "currencies")),
    ]
)
# A cheap look that nearly every log written by a program passes: such a column is in its default form.
_YEAR_MONTH_DAY = "substr({c}, 5, 1) = '-' and substr({c}, 8, 1) = '-'"
_PLAIN: dict[Typed, str] = {
    "moment": _YEAR_MONTH_DAY,
    "day": rf"({_YEAR_MONTH_DAY}) or regexp_full_match({{c}}, '\d{{4}}(-\d{{2}})?')",
    "minutes": "try_cast({c} as double) is not null and not contains({c}, '.')",
    "number": "try_cast({c} as double) is not null",
    # Three digits after a point may be thousands.
    "money": "try_cast({c} as double) is not null and not ({c} like '%.___')",
}


@dataclass(frozen=True)
class ColumnForm:
    """
    How one column of one file is read.

    Attributes
    ----------
    name, kind : str
        The standard column, and what it holds.
    decision : Decision
        Form and evidence; open where a person has to say.
    currencies : tuple of str
        What its amounts say of their currency: ISO codes, "$" for a dollar that nobody named.
    tax_basis : str or None
        Of a column of money: inc, ex or unknown.
    example : str or None
        Of an open column, a cell that the forms read differently, and in `readings` what each reads.
    """

    name: str
    kind: Typed
    decision: Decision
    currencies: tuple[str, ...] = ()
    tax_basis: str | None = None
    example: str | None = None
    readings: tuple[Any, ...] = ()

    @property
    def form(self) -> Form:
        """The form; of an open column the one that reads only what cannot be misread."""
        name = OR.join(self.decision.open) or self.decision.form
        return form_named(self.kind, name) or default_form(self.kind)


FileForms = dict[str, ColumnForm]


def choose_forms(
    con: duckdb.DuckDBPyConnection, layouts: Mapping[str, LayoutReading]
) -> dict[int, FileForms]:
    """
    Decide the form of each typed column of each file, and write it to normalise.forms.

    Returns
    -------
    dict
        By file number and column name.
    """
    sql = "select file_no, kind, layout from normalise.files order by file_no"
    chosen = {
        file_no: forms_of_file(con, file_no, kind, layouts[layout].forms if layout in layouts else {})
        for file_no, kind, layout in con.execute(sql).fetchall()
    }
    store_rows(
        con, "forms", _SCHEMA, (_row(n, column) for n, forms in chosen.items() for column in forms.values())
    )
    return chosen


def kept_forms(con: duckdb.DuckDBPyConnection) -> dict[int, FileForms]:
    """What `choose_forms` decided, from the tables of a build."""
    sql = """
    select files.kind, forms.file_no, forms.column_name, forms.form, forms.evidence, forms.currencies
    from normalise.forms as forms join normalise.files as files on files.file_no = forms.file_no
    """
    found: dict[int, FileForms] = {}
    for kind, file_no, name, form, evidence, currencies in con.execute(sql).fetchall():
        holds = next(TYPED[column.kind] for column in LISTS[kind] if column.name == name)
        kept = ColumnForm(name, holds, Decision(form, evidence), tuple((currencies or "").split()))
        found.setdefault(file_no, {})[name] = kept
    return found


def forms_of_file(
    con: duckdb.DuckDBPyConnection, file_no: int, kind: str, named: Mapping[str, str]
) -> FileForms:
    """
    Forms of the typed columns of one file.

    Parameters
    ----------
    con : connection
        With received.rows_unmended, or received.<kind>_unmended for a list, every standard column there.
    file_no : int
        Which file.
    kind : str
        Kind of file.
    named : mapping of str to str
        Forms that a person named, by column; they win.
    """
    columns = {column.name: TYPED[column.kind] for column in LISTS[kind] if column.kind in TYPED}
    # What was mended says nothing about how the others wrote.
    cells = Cells(con, "rows_unmended" if kind == "log" else f"{kind}_unmended", file_no)
    unsaid = {name: holds for name, holds in columns.items() if name not in named and name not in ALWAYS}
    odd = _not_plain(cells, unsaid)
    found = {name: _judged(cells, name, columns[name]) for name in odd}
    if any(column.kind == "money" and column.decision.open for column in found.values()):
        # How the amounts beside it are written may decide, so those are looked at as well.
        found |= {name: _judged(cells, name, holds) for name, holds in unsaid.items() if holds == "money"}
    found |= {
        name: _named(cells, name, columns[name], form) for name, form in named.items() if name in columns
    }
    return {
        name: _as_its_sisters(found.get(name) or _undoubted(name, holds), found)
        for name, holds in columns.items()
    }


@dataclass(frozen=True)
class Cells:
    """Cells of one file: the table of received rows that holds them, and the number of the file."""

    con: duckdb.DuckDBPyConnection
    table: str
    file_no: int

    def facts(self, column: str, kind: Typed) -> column_facts.Facts:
        """Counts over the distinct cells of a column, which are left gathered."""
        column_facts.gather_cells(self.con, self.table, self.file_no, column)
        return column_facts.facts_of(self.con, kind)

    def order(self, column: str) -> column_facts.Order:
        """How the days of a column go along the job numbers; a list has none."""
        if self.table != "rows_unmended":
            return column_facts.NO_ORDER
        return column_facts.order_along_jobs(self.con, self.file_no, column)


def _undoubted(name: str, kind: Typed) -> ColumnForm:
    plain = Decision(default_form(kind).name, "every cell is written so")
    return ColumnForm(name, kind, ALWAYS.get(name, plain))


def _not_plain(cells: Cells, columns: Mapping[str, Typed]) -> list[str]:
    """Columns with a cell that does not look like the default form, found in one pass."""
    if not columns:
        return []
    tests = []
    for name, kind in columns.items():
        cell = f"nullif(trim(\"{name}\"), '')"
        plain = f"coalesce({_PLAIN[kind].replace('{c}', cell)}, false)"
        tests.append(f"count(*) filter (where {cell} is not null and not {plain})")
    sql = f"select {', '.join(tests)} from received.{cells.table} where file_no = $1"
    counts = cells.con.execute(sql, [cells.file_no]).fetchall()[0]
    return [name for name, count in zip(columns, counts, strict=True) if count]


def _named(cells: Cells, name: str, kind: Typed, form: str) -> ColumnForm:
    column = ColumnForm(name, kind, Decision(form, "named in the layout", is_proven=True))
    return _with_money_facts(column, cells.facts(name, kind)) if kind == "money" else column


def _judged(cells: Cells, name: str, kind: Typed) -> ColumnForm:
    facts = cells.facts(name, kind)
    column = ColumnForm(name, kind, decide(kind, facts, lambda: cells.order(name)))
    if column.decision.open:
        column = _with_example(cells, column)
    return _with_money_facts(column, facts) if kind == "money" else column


def _with_example(cells: Cells, column: ColumnForm) -> ColumnForm:
    shown = column_facts.example(cells.con, column.kind, column.decision.open)
    if shown is None:
        same = Decision(column.decision.form, "every cell reads the same either way")
        return replace(column, decision=same)
    return replace(column, example=shown[0], readings=tuple(shown[1]))


def _with_money_facts(column: ColumnForm, facts: column_facts.Facts) -> ColumnForm:
    taxes = [tax for tax in facts["taxes"] or () if tax]
    currencies = tuple(currency for currency in facts["currencies"] or () if currency)
    return replace(column, currencies=currencies, tax_basis=taxes[0] if len(taxes) == 1 else UNKNOWN_TAX)


def _as_its_sisters(column: ColumnForm, every: FileForms) -> ColumnForm:
    """An open column is read as the other columns of the file are, where those show how and agree."""
    shown = {
        _POINT if other.decision.form == "decimal point" else other.decision.form: other.name
        for other in every.values()
        if other.decision.is_proven and _family(other.kind) == _family(column.kind)
    }
    fitting = [form for form in column.decision.open if form in shown]
    if len(fitting) != 1:
        return column
    return replace(column, decision=Decision(fitting[0], f"as in {shown[fitting[0]]}"))


_POINT = "amounts with a decimal point"


def _family(kind: Typed) -> str:
    return "date" if kind in ("moment", "day") else kind


def _row(file_no: int, column: ColumnForm) -> dict[str, Any]:
    undecided = "not decided: " if column.decision.open else ""
    return {
        "file_no": file_no,
        "column_name": column.name,
        "form": column.form.name,
        "evidence": undecided + column.decision.evidence,
        "tax_basis": (column.tax_basis or UNKNOWN_TAX) if column.kind == "money" else None,
        "currencies": " ".join(column.currencies) or None,
    }
