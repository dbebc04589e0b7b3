"""A list of cells to mend as it comes back: as it was written, or as an office program saved it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import MendstatError, UnreadableError
from pipeline.intake.block import Header, Table
from pipeline.intake.layouts import comparable
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.store.key import Key

NEEDED = ("row", "column", "value")
# A list is no source: nothing of it is kept, so its hash is made with no secret.
_NO_KEY = Key("0" * 64)


@dataclass(frozen=True)
class Given:
    """One line of the list: where it stands, the cell it means, what was filled in (empty for nothing)."""

    line: int
    row: str
    column: str
    value: str


def read_list(path: Path) -> list[Given]:
    """
    Lines of a list, CSV (comma, semicolon or tab, any encoding an office program writes) or a workbook's first sheet.

    Raises
    ------
    UnreadableError
        If it cannot be read, or is no list of cells to mend.
    """
    source = Source(path)
    table = tables_of(source, survey(source, _NO_KEY)).tables[0]
    headers = table.headers()
    header = next((each for each in headers if not _missing(each)), headers[0])
    if missing := _missing(header):
        raise UnreadableError(
            f"{path} is no list of cells to mend: it has no column {missing[0]}. "
            "Write one with `mendstat mend --output FILE` and fill in its column value."
        )
    names = [comparable(name) for name in header.names]
    places = [names.index(name) for name in NEEDED]
    rows = _rows(table, header)
    found = (Given(line, *(cells[place].strip() for place in places)) for line, cells in rows)
    return [given for given in found if given.row or given.value]


def _missing(header: Header) -> list[str]:
    there = {comparable(name) for name in header.names}
    return [name for name in NEEDED if name not in there]


def has_values(path: Path) -> bool:
    """Whether a file is a list in which somebody has filled something in, or anything but a list."""
    try:
        return any(given.value for given in read_list(path))
    except MendstatError:
        return True


def _rows(table: Table, header: Header) -> Iterator[tuple[int, tuple[str, ...]]]:
    for block in table.blocks(header):
        for n, cells in enumerate(block.cells.iter_rows()):
            line = block.line[n] or block.first_record + n + 1
            if block.problem[n] is not None:
                raise UnreadableError(
                    f"{table.source.path}, line {line}: {block.problem[n]}. Nothing was taken; put the line right."
                )
            yield line, cells
