"""A list of cells to mend as it comes back: as it was written, or as an office program saved it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import MendstatError, UnreadableError
from pipeline.intake.csv_file import read_blocks, read_header
from pipeline.intake.layouts import comparable
from pipeline.intake.source import Source, survey
from pipeline.store.key import Key

NEEDED = ("row", "column", "value")
_XLSX = b"PK\x03\x04"
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
    with source.open() as file:
        is_workbook = file.read(4) == _XLSX
    header, rows = _workbook(path) if is_workbook else _csv(source)
    at = {comparable(name): place for place, name in reversed(list(enumerate(header)))}
    missing = [name for name in NEEDED if name not in at]
    if missing:
        raise UnreadableError(
            f"{path} is no list of cells to mend: it has no column {missing[0]}. "
            "Write one with `mendstat mend --output FILE` and fill in its column value."
        )
    places = [at[name] for name in NEEDED]
    found = (Given(line, *(cells[place].strip() for place in places)) for line, cells in rows)
    return [given for given in found if given.row or given.value]


def has_values(path: Path) -> bool:
    """Whether a file is a list in which somebody has filled something in, or anything but a list."""
    try:
        return any(given.value for given in read_list(path))
    except MendstatError:
        return True


def _csv(source: Source) -> tuple[tuple[str, ...], Iterator[tuple[int, tuple[str, ...]]]]:
    found = survey(source, _NO_KEY)
    header = read_header(source, found)

    def rows() -> Iterator[tuple[int, tuple[str, ...]]]:
        for block in read_blocks(source, found, header):
            for n, cells in enumerate(block.cells.iter_rows()):
                line = block.line[n] or block.first_record + n + 1
                if block.problem[n] is not None:
                    raise UnreadableError(
                        f"{source.path}, line {line}: {block.problem[n]}. Nothing was taken; put the line right."
                    )
                yield line, cells

    return header.names, rows()


def _workbook(path: Path) -> tuple[tuple[str, ...], Iterator[tuple[int, tuple[str, ...]]]]:
    import fastexcel

    try:
        sheet = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string").to_polars()
    except (fastexcel.FastExcelError, ValueError, OSError) as error:
        raise UnreadableError(
            f"{path} could not be read as a workbook ({type(error).__name__}). Save it again, or save it as CSV."
        ) from None
    texts = sheet.fill_null("").rows()
    rows = ((line, row) for line, row in enumerate(texts[1:], start=2))
    return (texts[0] if texts else ()), rows
