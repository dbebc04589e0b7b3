"""The list of cells to mend: one line per failing cell of the rows set aside, as a table to be filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.errors import UnreadableError
from pipeline.filled_list import write_list_file
from pipeline.mend.list_file import has_values
from pipeline.standard_log import LISTS, column_names, mendable_columns
from pipeline.store.corrections import reference
from pipeline.store.folder import Store

HEADER = ("row", "file", "record", "line", "column", "reason", "looks_like", "value")
DEFAULT_LIST = Path("to-mend.csv")
_WIDTHS = (22, 24, 9, 9, 16, 36, 20, 24)  # characters, in a workbook


@dataclass(frozen=True)
class ToMend:
    """Cells to mend, and how many rows set aside hold one and how many hold none."""

    cells: Sequence[tuple[object, ...]]
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
    write_list_file(path, "to mend", HEADER, found.cells, _WIDTHS)
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
        (reference(hashes[file_no], record), name, record, line, column, reason, shape, "")
        for file_no, _kind, name, record, line, column, reason, shape in rows
    ]
    mendable = len({(row[0], row[3]) for row in rows})
    return ToMend(cells, mendable, set_aside - mendable)


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
