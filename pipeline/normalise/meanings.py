"""Reads each distinct phrase once: normalise.meanings, and the symptoms of cells that hold several."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

import duckdb
import pyarrow as pa

from pipeline.normalise.files import LayoutReading
from pipeline.normalise.phrase_reader import PhraseReader
from pipeline.normalise.phrases import SEVERAL, Meaning, pieces
from pipeline.normalise.running_text import SymptomFinder
from pipeline.normalise.spellings import read_spellings
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.standard_log import columns_of_kind
from pipeline.vocabulary import normal_form

LIST_WORDS = {"machines": ("unit_type",), "parts": ("part_name", "safety_part")}
_MEANINGS = text_columns("layout", "column_name", "phrase", "meaning", "rule").append(
    pa.field("confidence", pa.float64())
)
_CELLS = text_columns("layout", "column_name", "cell", "symptom", "symptoms")
Phrases = list[tuple[str, str]]


# Of a machine whose kind nobody wrote down, as a person said.
KIND_UNKNOWN = "kind unknown"


def word_columns() -> tuple[str, ...]:
    """Columns of the log whose cells hold one phrase each, read for its meaning."""
    return tuple(name for name in columns_of_kind("log", "word", "yes_no") if name != "symptom")


def empty_cell_meanings(layout: LayoutReading | None) -> tuple[tuple[str, str], ...]:
    """What a layout says that an empty cell means, by column."""
    if layout is None:
        return ()
    said = {column: words[""] for column, words in layout.values.items() if words.get("")}
    if "unit_type" in layout.not_recorded:
        said.setdefault("unit_type", KIND_UNKNOWN)
    return tuple(sorted(said.items()))


def read_meanings(con: duckdb.DuckDBPyConnection, reader: PhraseReader) -> None:
    """
    Create normalise.meanings, normalise.symptom_cells and normalise.symptom_sets.

    Parameters
    ----------
    con : connection
        With received.* and normalise.files.
    reader : PhraseReader
        Reads the phrases.
    """
    found = [
        reader.read(layout, column, phrase)
        for column in word_columns()
        for layout, phrase in _distinct(con, "rows", column)
    ]
    for kind, columns in LIST_WORDS.items():
        for column in columns:
            # A kind of machine or a part is the same word in the log and in a list.
            phrases = _distinct(con, kind, column)
            found += (reader.read(layout, column, phrase, f"{kind}.{column}") for layout, phrase in phrases)
    cells = [
        *_symptom_cells(reader, _distinct(con, "rows", "symptom")),
        *_note_cells(reader, _distinct(con, "rows", "note")),
    ]
    found += (meaning for cell in cells for meaning in cell.meanings)
    rows = {(m.layout, m.column_name, m.phrase): m.row for m in (*found, *read_spellings(con))}
    store_rows(con, "meanings", _MEANINGS, rows.values())
    store_rows(con, "symptom_cells", _CELLS, (cell.row for cell in cells))
    store_rows(con, "symptom_sets", text_columns("symptoms", "symptom"), _sets(cells))


class _Cell:
    """A cell that may hold several symptoms; the first is the main one. `told` are those that a sentence of it tells."""

    def __init__(
        self,
        layout: str,
        column_name: str,
        cell: str,
        meanings: list[Meaning],
        told: Mapping[str, list[str]] = MappingProxyType({}),
    ) -> None:
        self.layout, self.column_name, self.cell, self.meanings = layout, column_name, cell, meanings
        self._told = told

    @property
    def symptoms(self) -> list[str]:
        every = (told for m in self.meanings if m.meaning for told in self._told.get(m.phrase, [m.meaning]))
        return list(dict.fromkeys(every))

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


def add_meanings(con: duckdb.DuckDBPyConnection, found: Iterable[Meaning]) -> None:
    """Add phrases that normalise.meanings does not have yet."""
    store_rows(con, "added", _MEANINGS, (meaning.row for meaning in found))
    con.execute(
        """
        insert into normalise.meanings by name
        select added.* from normalise.added as added
        anti join normalise.meanings as known
            on known.layout = added.layout and known.column_name = added.column_name and known.phrase = added.phrase
        """
    )
    con.execute("drop table normalise.added")


def _symptom_cells(reader: PhraseReader, found: Phrases) -> Iterator[_Cell]:
    """Each phrase by the vocabulary; a sentence that nothing settles by the known words in it."""
    read = [
        (layout, cell, [reader.read(layout, "symptom", p) for p in pieces(cell)]) for layout, cell in found
    ]
    open_ones = dict.fromkeys(m.phrase for *_, meanings in read for m in meanings if m.rule == "own words")
    told = SymptomFinder(reader.words("symptom"), reader.words("part_name")).symptoms_of(list(open_ones))
    for layout, cell, meanings in read:
        yield _Cell(layout, "symptom", cell, [_from_sentence(m, told) for m in meanings], told)


def _from_sentence(meaning: Meaning, told: Mapping[str, list[str]]) -> Meaning:
    symptoms = told.get(meaning.phrase) if meaning.rule == "own words" else None
    return replace(meaning, meaning=symptoms[0], rule="words of a sentence") if symptoms else meaning


def _note_cells(reader: PhraseReader, found: Phrases) -> Iterator[_Cell]:
    """Known symptoms among the words kept of a note; any other word of it is no symptom."""
    words = reader.words("symptom")
    for layout, cell in found:
        read = ((piece, words.meaning(normal_form(piece))) for piece in pieces(cell))
        yield _Cell(layout, "note", cell, [Meaning(layout, "note", p, m, "from note") for p, m in read if m])


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
