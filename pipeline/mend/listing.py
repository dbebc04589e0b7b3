"""The list of cells to mend: one line per failing cell of the rows set aside, as a table to be filled in."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.errors import UnreadableError
from pipeline.mend.list_file import has_values
from pipeline.standard_log import LISTS, column_names, mendable_columns
from pipeline.store import atomic
from pipeline.store.corrections import reference
from pipeline.store.folder import Store

HEADER = ("row", "file", "record", "line", "column", "reason", "looks_like", "value")
DEFAULT_LIST = Path("to-mend.csv")
# A cell that begins like this is run as a formula by office programs.
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_WIDTHS = (22, 24, 9, 9, 16, 36, 20, 24)  # characters, in a workbook


@dataclass(frozen=True)
class ToMend:
    """Cells to mend, and how many rows set aside hold one and how many hold none."""

    cells: list[tuple[str, ...]]
    mendable: int
    others: int

    def text(self, path: Path) -> str:
        """Lines for the user."""
        lines = [
            f"{path}: {_counted(len(self.cells), 'cell')} to mend in {_counted(self.mendable, 'row')} set aside."
        ]
        if self.cells:
            lines.append(
                "Fill in the column value (dates like 2026-03-04, amounts with a decimal point, - where nothing is "
                f"known; what stays empty is left for another time), then: mendstat mend {path}"
            )
        else:
            lines = [f"No row is set aside that could be mended here; {path} holds only its header."]
        if self.others:
            lines.append(
                f"{_counted(self.others, 'row')} set aside cannot be mended here, because the row as a whole is out of "
                "joint: correct the source file and load it again (mendstat log-check names the records)."
            )
        return "\n".join(lines)


def write_list(store_path: Path, output: Path | None = None) -> tuple[ToMend, Path]:
    """
    Write the list of cells to mend; no identity is in it, and of what cannot be read only its shape.

    Parameters
    ----------
    store_path : Path
        The store.
    output : Path or None
        A .csv or .xlsx file; `to-mend.csv` by default.

    Raises
    ------
    UnreadableError
        If the file cannot be written, or holds values that somebody filled in.
    """
    path = output or DEFAULT_LIST
    found = to_mend(Store(store_path))
    if path.exists() and has_values(path):
        raise UnreadableError(
            f"{path} holds values that were filled in. Take them back with `mendstat mend {path}` first, or name "
            "another file with --output."
        )
    content = _workbook(found.cells) if path.suffix.lower() == ".xlsx" else _csv(found.cells)
    temporary = atomic.temporary_name(path)
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise UnreadableError(
            f"{path} could not be written ({error.strerror}). Name another file with --output."
        ) from None
    return found, path


def to_mend(store: Store) -> ToMend:
    """Failing cells of the rows set aside, in the order of the files."""
    hashes = {entry.file_no: entry.source_hash for entry in store.manifest.files}
    with store.connect() as con:
        rows = con.execute(_CELLS).fetchall()
        set_aside = _count(con, _SET_ASIDE)
    order = {(kind, name): at for kind in LISTS for at, name in enumerate(column_names(kind))}
    may_be_given = {(kind, name) for kind in LISTS for name in mendable_columns(kind)}
    rows = [row for row in rows if (row[1], row[5]) in may_be_given and row[0] in hashes]
    rows.sort(key=lambda row: (row[0], row[3], order[row[1], row[5]]))
    cells = [
        _safe((reference(hashes[file_no], record), name, str(record), line, column, reason, shape, ""))
        for file_no, _kind, name, record, line, column, reason, shape in rows
    ]
    mendable = len({(row[0], row[3]) for row in rows})
    return ToMend(cells, mendable, set_aside - mendable)


def _safe(cells: Iterable[object]) -> tuple[str, ...]:
    texts = ("" if cell is None else str(cell) for cell in cells)
    return tuple(f"'{text}" if text.startswith(_FORMULA_STARTS) else text for text in texts)


def _csv(cells: list[tuple[str, ...]]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADER)
    writer.writerows(cells)
    # With the mark, office programs read the file as UTF-8.
    return text.getvalue().encode("utf-8-sig")


def _workbook(cells: list[tuple[str, ...]]) -> bytes:
    import xlsxwriter

    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(buffer, options) as book:
        sheet = book.add_worksheet("to mend")
        # As text, so that a date stays as it is typed.
        as_text = book.add_format({"num_format": "@"})
        for at, width in enumerate(_WIDTHS):
            sheet.set_column(at, at, width, as_text)
        for number, row in enumerate([HEADER, *cells]):
            for at, cell in enumerate(row):
                sheet.write_string(number, at, cell, as_text)
        sheet.freeze_panes(1, 0)
    return buffer.getvalue()


def _count(con: duckdb.DuckDBPyConnection, sql: str) -> int:
    return int(con.execute(sql).fetchall()[0][0])


def _counted(many: int, what: str) -> str:
    return f"{many:,} {what}" if many == 1 else f"{many:,} {what}s"


# Rows of which nothing can be told apart are left out. Where nothing else is said, a record stands in the line after it.
_CELLS = """
select
    problems.file_no,
    files.kind,
    files.name,
    problems.record,
    case when files.kind = 'log' then coalesce(problems.line, problems.record + 1) else problems.line end as line_no,
    problems.column_name,
    min(problems.reason),
    min(problems.shape)
from normalise.row_problems as problems
join received.files as files on files.file_no = problems.file_no
where not exists (
    select 1 from normalise.row_problems as whole
    where whole.file_no = problems.file_no and whole.record = problems.record and whole.column_name = 'row'
)
group by problems.file_no, files.kind, files.name, problems.record, line_no, problems.column_name
"""

_SET_ASIDE = """
select
    (select count(*) from tables.fates where fate = 'set aside')
    + (select count(*) from tables.list_fates where fate = 'set aside')
"""
