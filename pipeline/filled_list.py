"""Lists for a person to fill in: written for office programs, read again as these save them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.intake.block import Header, Table
from pipeline.intake.layouts import comparable
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.store import atomic
from pipeline.store.key import Key

# A cell that begins like this is run as a formula by office programs.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
# A list is no source: nothing of it is kept, so its hash is made with no secret.
_NO_KEY = Key("0" * 64)


def filled_lines(
    source: Source, needed: Sequence[str], is_no_list: str
) -> Iterator[tuple[int, tuple[str, ...]]]:
    """
    Lines of a list with the cells of some of its columns, CSV (comma, semicolon or tab, any encoding an office program
    writes) or a workbook's first sheet.

    Parameters
    ----------
    source : Source
        The list.
    needed : sequence of str
        Names of the columns.
    is_no_list : str
        Said of a file that lacks one; `{path}` and `{column}` are put in.

    Raises
    ------
    UnreadableError
        If it cannot be read, or lacks a column.
    """
    table = tables_of(source, survey(source, _NO_KEY)).tables[0]
    headers = table.headers()
    header = next((each for each in headers if not _missing(each, needed)), headers[0])
    if missing := _missing(header, needed):
        raise UnreadableError(is_no_list.format(path=source.path, column=missing[0]))
    names = [comparable(name) for name in header.names]
    places = [names.index(name) for name in needed]
    return ((line, tuple(cells[place].strip() for place in places)) for line, cells in _rows(table, header))


def _missing(header: Header, needed: Sequence[str]) -> list[str]:
    there = {comparable(name) for name in header.names}
    return [name for name in needed if name not in there]


def _rows(table: Table, header: Header) -> Iterator[tuple[int, tuple[str, ...]]]:
    for block in table.blocks(header):
        for n, cells in enumerate(block.cells.iter_rows()):
            line = block.line[n] or block.first_record + n + 1
            if block.problem[n] is not None:
                raise UnreadableError(
                    f"{table.source.path}, line {line}: {block.problem[n]}. Nothing was taken; put the line right."
                )
            yield line, cells


def write_list_file(
    path: Path, name: str, header: Sequence[str], rows: Iterable[Sequence[object]], widths: Sequence[int]
) -> None:
    """
    Write a list as CSV, or as a workbook where the path ends in .xlsx; whole or not at all.

    Parameters
    ----------
    path : Path
        Where to.
    name : str
        Of the sheet.
    header, rows : sequences
        Every cell is written as text, so that a date stays as it is typed.
    widths : sequence of int
        Of the columns of a workbook, in characters.

    Raises
    ------
    UnreadableError
        If the file cannot be written.
    """
    cells = [_safe(row) for row in rows]
    content = (
        _workbook(name, header, cells, widths) if path.suffix.lower() == ".xlsx" else _csv(header, cells)
    )
    temporary = atomic.temporary_name(path)
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise UnreadableError(
            f"{path} could not be written ({error.strerror}). Name another file with --output."
        ) from None


def _safe(cells: Iterable[object]) -> tuple[str, ...]:
    texts = ("" if cell is None else str(cell) for cell in cells)
    return tuple(f"'{text}" if text.startswith(_FORMULA_STARTS) else text for text in texts)


def _csv(header: Sequence[str], cells: Iterable[tuple[str, ...]]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(cells)
    # With the mark, office programs read the file as UTF-8.
    return text.getvalue().encode("utf-8-sig")


def _workbook(
    name: str, header: Sequence[str], cells: Iterable[Sequence[str]], widths: Sequence[int]
) -> bytes:
    import xlsxwriter

    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        sheet = book.add_worksheet(name)
        as_text = book.add_format({"num_format": "@"})
        for at, width in enumerate(widths):
            sheet.set_column(at, at, width, as_text)
        for number, row in enumerate([header, *cells]):
            for at, cell in enumerate(row):
                sheet.write_string(number, at, cell, as_text)
        sheet.freeze_panes(1, 0)
    return buffer.getvalue()
