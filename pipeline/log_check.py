"""What became of every row: used, repeated, replaced or set aside, and why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pipeline.store.folder import Store

RECORDS_NAMED = 5  # of the rows set aside for one reason
FILE_FIELDS = (
    "file",
    "kind",
    "layout",
    "received",
    "columns_left_out",
    "used",
    "repeated",
    "replaced",
    "set_aside",
)
REASON_FIELDS = ("column", "reason", "count", "records", "shape")


def log_check(store_path: Path) -> list[dict[str, Any]]:
    """
    Account for every row of every file that counts.

    Returns
    -------
    list of dict
        One per file: file, kind, layout, received, used, repeated, replaced, set_aside, columns_left_out, and
        reasons, a list of dicts with column, reason, count, records (the first few) and shape. Of every file,
        received = used + repeated + replaced + set_aside.
    """
    with Store(store_path).connect() as connection:
        files = connection.execute(_FILES).fetchall()
        set_aside = connection.execute(_REASONS, [RECORDS_NAMED]).fetchall()
    reasons: dict[int, list[dict[str, Any]]] = {}
    for file_no, *values in set_aside:
        reasons.setdefault(file_no, []).append(dict(zip(REASON_FIELDS, values, strict=True)))
    return [
        {**dict(zip(FILE_FIELDS, values, strict=True)), "reasons": reasons.get(file_no, [])}
        for file_no, *values in files
    ]


_FATES = """
(
    select file_no, record, fate, column_name, reason, shape from tables.fates
    union all
    select file_no, record, fate, column_name, reason, shape from tables.list_fates
)
"""

_FILES = f"""
select
    files.file_no,
    files.name,
    files.kind,
    files.layout,
    files."rows",
    files.columns_left_out,
    count(*) filter (where fates.fate = 'used'),
    count(*) filter (where fates.fate = 'repeated'),
    count(*) filter (where fates.fate = 'replaced'),
    count(*) filter (where fates.fate = 'set aside')
from received.files as files
left join {_FATES} as fates on fates.file_no = files.file_no
group by all
order by files.file_no
"""

_REASONS = f"""
select
    fates.file_no,
    fates.column_name as column_read,
    fates.reason,
    count(*) as rows_counted,
    list(fates.record order by fates.record)[1:$1],
    arg_min(fates.shape, fates.record) filter (where fates.shape is not null)
from {_FATES} as fates
where fates.fate = 'set aside'
group by all
order by fates.file_no, rows_counted desc, column_read, fates.reason
"""
