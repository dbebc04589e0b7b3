"""Whether the values given can be taken: each is checked as the next build would read it, with the rest of its row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline import normalise
from pipeline.errors import UnreadableError
from pipeline.intake.typed import shape
from pipeline.mend.list_file import Given
from pipeline.mend.values import LIKE, as_kept
from pipeline.normalise import LayoutReading
from pipeline.normalise.column_forms import FileForms, kept_forms
from pipeline.normalise.forms import TYPED
from pipeline.received_tables import put_received
from pipeline.settings import Settings
from pipeline.standard_log import LISTS, Column, mendable_columns
from pipeline.store.corrections import NOTHING, Correction, placed, reference, row_of
from pipeline.store.corrections import read as read_corrections
from pipeline.store.folder import Store
from pipeline.store.manifest import ReceivedFile
from pipeline.store.opening import CLOSED

Row = tuple[int, int]  # number of the file, record
Problems = dict[Row, set[tuple[str, str]]]  # column and reason


@dataclass(frozen=True)
class Cell:
    """One value given, on the cell that it is for."""

    given: Given
    entry: ReceivedFile
    record: int
    column: Column

    @property
    def row(self) -> Row:
        """Number of the file and of the record."""
        return self.entry.file_no, self.record


@dataclass(frozen=True)
class Known:
    """What the build says: forms of the columns, problems of the rows set aside, rows that were mended."""

    forms: dict[int, FileForms]
    problems: Problems
    mended: frozenset[Row]


class Checking:
    """
    Checks the values of one list.

    Parameters
    ----------
    store, settings, layouts
        The store, whose build must be current, and what a build is made with.
    path : Path
        The list, for messages.
    """

    def __init__(
        self, store: Store, settings: Settings, layouts: Mapping[str, LayoutReading], path: Path
    ) -> None:
        self.store, self.settings, self.layouts, self.path = store, settings, layouts, path
        self.entries = store.manifest.active
        with store.connect() as con:
            self.known = _known(con)

    def corrections(self, given: Sequence[Given]) -> tuple[list[Correction], int]:
        """
        Corrections to keep.

        Returns
        -------
        corrections : list of Correction
            In the order given.
        used : int
            How many values were left, because their rows are used as they are.

        Raises
        ------
        UnreadableError
            If a value cannot be taken; then none is.
        """
        cells = [self._cell(each) for each in given]
        self._refuse_twice(cells)
        needed = [cell for cell in cells if cell.row in self.known.problems or cell.row in self.known.mended]
        for cell in needed:
            self._refuse_broken_row(cell)
        texts = self._texts(needed)
        kept = [
            Correction(reference(cell.entry.source_hash, cell.record), cell.column.name, text)
            for cell, text in zip(needed, texts, strict=True)
        ]
        if kept:
            self._refuse_what_breaks_a_rule(needed, kept)
        return kept, len(cells) - len(needed)

    def _cell(self, given: Given) -> Cell:
        at = row_of(given.row, self.entries)
        if at is None:
            raise self._refusal(
                given, "no row of this store is called that", "Write the list again with `mendstat mend`"
            )
        entry, record = at
        column = next((column for column in LISTS[entry.kind] if column.name == given.column), None)
        if column is None:
            raise self._refusal(
                given,
                "the list names no column of the standard log",
                "Leave the words of the list as they are",
            )
        if column.name not in mendable_columns(entry.kind):
            raise self._refusal(
                given,
                f"{column.name} may say who somebody is and is never taken from a list",
                "Correct it in the source file and load that again",
            )
        return Cell(given, entry, record, column)

    def _refuse_twice(self, cells: Sequence[Cell]) -> None:
        seen: dict[tuple[Row, str], Given] = {}
        for cell in cells:
            before = seen.setdefault((cell.row, cell.column.name), cell.given)
            if before.value != cell.given.value:
                raise self._refusal(
                    cell.given,
                    f"line {before.line} gives the same cell another value",
                    "Leave one of the two",
                )

    def _refuse_broken_row(self, cell: Cell) -> None:
        for column, reason in sorted(self.known.problems.get(cell.row, ())):
            if column == "row":
                raise self._refusal(
                    cell.given,
                    f"the row as a whole is out of joint ({reason})",
                    "Correct the source file and load it again",
                )

    def _texts(self, cells: Sequence[Cell]) -> list[str]:
        groups: dict[tuple[int, str], list[int]] = defaultdict(list)
        for n, cell in enumerate(cells):
            if cell.given.value != NOTHING:
                groups[cell.entry.file_no, cell.column.name].append(n)
        texts = [NOTHING] * len(cells)
        with _closed_database() as con:
            for (file_no, name), numbers in groups.items():
                own = self.known.forms.get(file_no, {}).get(name)
                values = [cells[n].given.value for n in numbers]
                readings = as_kept(con, cells[numbers[0]].column, own.form if own else None, values)
                for n, found in zip(numbers, readings, strict=True):
                    texts[n] = self._one(cells[n], found.ways)
        return texts

    def _one(self, cell: Cell, ways: tuple[str, ...]) -> str:
        if len(ways) == 1:
            return ways[0]
        like = LIKE[TYPED[cell.column.kind]]
        if ways:
            raise self._refusal(
                cell.given,
                f"{_looks(cell)} can be read as {' or as '.join(ways)}",
                "Write the one that is meant so",
            )
        raise self._refusal(
            cell.given, f"{_looks(cell)} cannot be read", f"Write it like {like}, or - where nothing is known"
        )

    def _refuse_what_breaks_a_rule(self, cells: Sequence[Cell], kept: Sequence[Correction]) -> None:
        after = self._problems_after(cells, kept)
        for cell in cells:
            names = {other.column.name for other in cells if other.row == cell.row}
            before = self.known.problems.get(cell.row, set())
            found = sorted(after.get(cell.row, set()), key=lambda each: (each[0] != cell.column.name, each))
            for column, reason in found:
                # A rule between two cells is broken by whichever of them was given.
                if column == cell.column.name or (column not in names and (column, reason) not in before):
                    raise self._refusal(
                        cell.given,
                        f"{_looks(cell)} leaves the row set aside ({column}: {reason})",
                        "Give another value, or leave it empty for now",
                    )

    def _problems_after(self, cells: Sequence[Cell], kept: Sequence[Correction]) -> Problems:
        """Problems of the rows as the next build would find them."""
        records: dict[int, set[int]] = defaultdict(set)
        for cell in cells:
            records[cell.entry.file_no].add(cell.record)
        entries = [entry for entry in self.entries if entry.file_no in records]
        every = (*read_corrections(self.store.corrections), *kept)
        mended, _gone = placed(every, entries)
        mended = [cell for cell in mended if cell.record in records[cell.file_no]]
        with _closed_database() as con:
            put_received(con, self.store.received, entries, mended, only=records)
            normalise.run(con, self.settings, self.layouts, self.store.vocabulary, self.known.forms)
            return _problems(con)

    def _refusal(self, given: Given, what: str, remedy: str) -> UnreadableError:
        is_column = any(given.column == column.name for columns in LISTS.values() for column in columns)
        # What is no column may be anything, so it is not repeated.
        column = f", column {given.column}" if is_column else ""
        return UnreadableError(
            f"{self.path}, line {given.line}{column}: {what}. {remedy}. Nothing was taken."
        )


def _looks(cell: Cell) -> str:
    return f"the value, which looks like {shape(cell.given.value)},"


def _known(con: duckdb.DuckDBPyConnection) -> Known:
    mended = con.execute("select distinct file_no, record from received.corrections").fetchall()
    return Known(kept_forms(con), _problems(con), frozenset(mended))


def _problems(con: duckdb.DuckDBPyConnection) -> Problems:
    found: Iterable[tuple[int, int, str, str]] = con.execute(
        "select file_no, record, column_name, reason from normalise.row_problems"
    ).fetchall()
    problems: Problems = defaultdict(set)
    for file_no, record, column, reason in found:
        problems[file_no, record].add((column, reason))
    return dict(problems)


def _closed_database() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect(config={**CLOSED, "threads": 2, "memory_limit": "1GB", "temp_directory": ""})
    con.execute("set TimeZone = 'UTC'")
    return con
