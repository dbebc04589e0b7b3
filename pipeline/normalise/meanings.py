"""Reads each distinct phrase once: normalise.meanings, and the symptoms of cells that hold several."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import duckdb
import pyarrow as pa

from pipeline.normalise.files import LayoutReading
from pipeline.normalise.phrases import SEVERAL, Meaning, pieces, read_phrase
from pipeline.normalise.spellings import read_spellings
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.standard_log import columns_of_kind
from pipeline.vocabulary import YES_NO, Words, normal_form

LIST_WORDS = {"machines": ("unit_type",), "parts": ("part_name", "safety_part")}
NO_WORDS = Words("", frozenset(), {}, is_closed=False, outside=frozenset(), ignored=frozenset())
_MEANINGS = text_columns("layout", "column_name", "phrase", "meaning", "rule").append(
    pa.field("confidence", pa.float64())
)
_CELLS = text_columns("layout", "column_name", "cell", "symptom", "symptoms")
Phrases = list[tuple[str, str]]


def word_columns() -> tuple[str, ...]:
    """Columns of the log whose cells hold one phrase each, read for its meaning."""
    return tuple(name for name in columns_of_kind("log", "word", "yes_no") if name != "symptom")


def empty_cell_meanings(layout: LayoutReading | None) -> tuple[tuple[str, str], ...]:
    """What a layout says that an empty cell means, by column."""
    values = layout.values if layout else {}
    return tuple((column, words[""]) for column, words in sorted(values.items()) if words.get(""))


def read_meanings(
    con: duckdb.DuckDBPyConnection, layouts: Mapping[str, LayoutReading], vocabulary: Mapping[str, Words]
) -> None:
    """
    Create normalise.meanings, normalise.symptom_cells and normalise.symptom_sets.

    Parameters
    ----------
    con : connection
        With received.* and normalise.files.
    layouts : mapping
        By layout name.
    vocabulary : mapping of str to Words
        By column name.
    """
    reading = _Reading(layouts, vocabulary)
    found = [
        m
        for column in word_columns()
        for m in reading.phrases(column, column, _distinct(con, "rows", column))
    ]
    for kind, columns in LIST_WORDS.items():
        for column in columns:
            # A kind of machine or a part is the same word in the log and in a list.
            found += reading.phrases(f"{kind}.{column}", column, _distinct(con, kind, column))
    cells = [
        *reading.symptom_cells(_distinct(con, "rows", "symptom")),
        *reading.note_cells(_distinct(con, "rows", "note")),
    ]
    found += (meaning for cell in cells for meaning in cell.meanings)
    rows = {(m.layout, m.column_name, m.phrase): m.row for m in (*found, *read_spellings(con))}
    store_rows(con, "meanings", _MEANINGS, rows.values())
    store_rows(con, "symptom_cells", _CELLS, (cell.row for cell in cells))
    store_rows(con, "symptom_sets", text_columns("symptoms", "symptom"), _sets(cells))


class _Cell:
    """A cell that may hold several symptoms; the first is the main one."""

    def __init__(self, layout: str, column_name: str, cell: str, meanings: list[Meaning]) -> None:
        self.layout, self.column_name, self.cell, self.meanings = layout, column_name, cell, meanings

    @property
    def symptoms(self) -> list[str]:
        return list(dict.fromkeys(m.meaning for m in self.meanings if m.meaning))

    @property
    def row(self) -> dict[str, object]:
        symptoms = self.symptoms
        first = symptoms[0] if symptoms else None
        together = f"{SEVERAL} ".join(symptoms) or None
        return {
            "layout": self.layout,
            "column_name": self.column_name,
            "cell": self.cell,
            "symptom": first,
            "symptoms": together,
        }


class _Reading:
    """What phrases are read with."""

    def __init__(self, layouts: Mapping[str, LayoutReading], vocabulary: Mapping[str, Words]) -> None:
        self.layouts, self.vocabulary = layouts, vocabulary

    def phrases(self, name: str, column: str, found: Phrases) -> Iterator[Meaning]:
        words = self._words(column)
        for layout, phrase in found:
            yield Meaning(layout, name, phrase, *read_phrase(words, self._values(layout, column), phrase))

    def symptom_cells(self, found: Phrases) -> Iterator[_Cell]:
        for layout, cell in found:
            yield _Cell(
                layout,
                "symptom",
                cell,
                list(self.phrases("symptom", "symptom", [(layout, p) for p in pieces(cell)])),
            )

    def note_cells(self, found: Phrases) -> Iterator[_Cell]:
        """Known symptoms among the words kept of a note; any other word of it is no symptom."""
        words = self._words("symptom")
        for layout, cell in found:
            read = ((piece, words.meaning(normal_form(piece))) for piece in pieces(cell))
            yield _Cell(
                layout, "note", cell, [Meaning(layout, "note", p, m, "from note") for p, m in read if m]
            )

    def _words(self, column: str) -> Words:
        shared = column in columns_of_kind("log", "yes_no") or column in columns_of_kind("parts", "yes_no")
        return self.vocabulary.get(YES_NO if shared else column, NO_WORDS)

    def _values(self, layout: str, column: str) -> dict[str, str]:
        known = self.layouts.get(layout)
        values = known.values.get(column, {}) if known else {}
        return {normal_form(phrase): meaning for phrase, meaning in values.items()}


def _distinct(con: duckdb.DuckDBPyConnection, table: str, column: str) -> Phrases:
    sql = f"""
    select distinct files.layout, rows."{column}" from received.{table} as rows
    join normalise.files as files on files.file_no = rows.file_no
    where rows."{column}" is not null order by all
    """
    return con.execute(sql).fetchall()


def _sets(cells: Iterable[_Cell]) -> Iterator[dict[str, object]]:
    """Each list of symptoms taken apart again, so that SQL can join it."""
    lists = {f"{SEVERAL} ".join(cell.symptoms): cell.symptoms for cell in cells if cell.symptoms}
    for together in sorted(lists):
        for symptom in lists[together]:
            yield {"symptoms": together, "symptom": symptom}
