"""A list of cells to mend as it comes back: as it was written, or as an office program saved it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import MendstatError
from pipeline.filled_list import filled_lines
from pipeline.intake.source import Source

NEEDED = ("row", "column", "value")
_NO_LIST = (
    "{path} is no list of cells to mend: it has no column {column}. "
    "Write one with `mendstat mend --output FILE` and fill in its column value."
)


@dataclass(frozen=True)
class Given:
    """One line of the list: where it stands, the cell it means, what was filled in (empty for nothing)."""

    line: int
    row: str
    column: str
    value: str


def read_list(path: Path) -> list[Given]:
    """
    Lines of a list; see `filled_lines`.

    Raises
    ------
    UnreadableError
        If it cannot be read, or is no list of cells to mend.
    """
    found = (Given(line, *cells) for line, cells in filled_lines(Source(path), NEEDED, _NO_LIST))
    return [given for given in found if given.row or given.value]


def has_values(path: Path) -> bool:
    """Whether a file is a list in which somebody has filled something in, or anything but a list."""
    try:
        return any(given.value for given in read_list(path))
    except MendstatError:
        return True
