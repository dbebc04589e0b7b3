"""What became of every row: used, repeated, replaced or set aside, and why."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import Any

import duckdb

from pipeline.log_check.completeness import by_month, completeness, read_fields
from pipeline.log_check.costs import costs
from pipeline.log_check.drift import coding_drift
from pipeline.store.folder import Store

RECORDS_NAMED = 5  # of the rows set aside for one reason, of the visits suspected or missing
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
SUSPECT_FIELDS = ("record", "job_id", "of_file", "of_record", "of_job_id")
MISSING_FIELDS = ("record", "job_id", "visit_on", "missing_from")
DAMAGED_FIELDS = ("rule", "count", "written")
NOTHING_FIELDS = ("column", "word", "count")
LATE_FIELDS = ("jobs", "late", "days_mean", "days_longest")
Rows = list[dict[str, Any]]


def log_check(store_path: Path) -> Rows:
    """
    Account for every row of every file that counts.

    Returns
    -------
    list of dict
        One per file: file, kind, layout, received, used, repeated, replaced, set_aside, columns_left_out, and
        reasons, a list of dicts with column, reason, count, records (the first few) and shape. Of every file,
        received = used + repeated + replaced + set_aside.

        Beside them: corrected (cells that were mended), corrections_gone (row and column of mended cells whose row is
        not there any more; those of no known file stand with the first), and of a log rungs (jobs by the rung of
        machine identity), joined (jobs by the rule that made them), completeness (share of jobs, visits or lines that
        carry each standard column), completeness_by_month (the columns that figures lean on), costs (which answers a
        missing field costs) and entry_lag (jobs that an earlier load should have held; null where nothing can be
        told). suspected counts the visits that say in all but the job number what a visit of another job says, and
        missing_visits those that were kept although a newer file that covers their day leaves them out; suspects and
        missing are the first few of them. damaged_numbers are part numbers that a spreadsheet or a hand damaged: rule,
        count and the first few as written. nothing_charged are words such as "FOC" that were read as an amount of 0: column,
        word, count. Of a parts list, circular are the numbers that replace each other in a circle. coding_drift are words that stand in the newest months' jobs much more or
        less often than before (see `coding_drift`), of all logs together, with the last of them. Jobs and visits are counted in the file whose row stands first in them.
    """
    with Store(store_path).connect() as con:
        files = con.execute(_FILES).fetchall()
        reasons = _listed(con, _REASONS, REASON_FIELDS, [RECORDS_NAMED])
        gone = _listed(con, _GONE, ("row", "column"))
        rungs = _listed(con, _RUNGS, ("rung", "jobs"))
        joined = _listed(con, _JOINED, ("rule", "jobs"))
        suspects = _listed(con, _SUSPECTS, SUSPECT_FIELDS)
        missing = _listed(con, _MISSING, MISSING_FIELDS)
        late = _listed(con, _LATE, LATE_FIELDS)
        damaged = _listed(con, _DAMAGED, DAMAGED_FIELDS, [RECORDS_NAMED])
        nothing = _listed(con, _NOTHING, NOTHING_FIELDS)
        circular = [row[0] for row in con.execute(_CIRCULAR).fetchall()]
        fields = read_fields(con)
        drift = coding_drift(con)
    last_log = max((file[0] for file in files if file[3] == "log"), default=None)
    rows = []
    for file_no, corrected, *values in files:
        row = dict(zip(FILE_FIELDS, values, strict=True))
        row |= {"corrected": corrected, "corrections_gone": gone[file_no], "reasons": reasons[file_no]}
        if row["kind"] == "log":
            filled = completeness(fields[file_no])
            row |= {
                "rungs": _with_share(rungs[file_no]),
                "joined": _with_share(joined[file_no]),
                "completeness": filled,
                "completeness_by_month": by_month(fields[file_no]),
                "costs": costs(
                    filled, rungs[file_no], has_machine_list=any(file[3] == "machines" for file in files)
                ),
                "suspected": len(suspects[file_no]),
                "suspects": suspects[file_no][:RECORDS_NAMED],
                "missing_visits": len(missing[file_no]),
                "missing": missing[file_no][:RECORDS_NAMED],
                "entry_lag": next(iter(late[file_no]), None),
                "damaged_numbers": damaged[file_no],
                "nothing_charged": nothing[file_no],
                "coding_drift": drift if file_no == last_log else [],
            }
        if row["kind"] == "parts":
            row["circular"] = circular
        rows.append(row)
    return rows


def _listed(
    con: duckdb.DuckDBPyConnection, sql: str, names: tuple[str, ...], given: list[int] | None = None
) -> defaultdict[int, Rows]:
    """Rows of a query by file: its first column is the file."""
    found: defaultdict[int, Rows] = defaultdict(list)
    for file_no, *values in con.execute(sql, given).fetchall():
        found[file_no].append(dict(zip(names, values, strict=True)))
    return found


def _with_share(rows: Rows) -> Rows:
    jobs = sum(row["jobs"] for row in rows)
    return [{**row, "share": round(row["jobs"] / jobs, 4)} for row in rows]


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
    (select count(*) from received.corrections as mended where mended.file_no = files.file_no),
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

_GONE = "select file_no, row_reference, column_name from received.corrections_gone order by all"

_RUNGS = """
select file_no, machine_rung, sum(count_jobs)::bigint as jobs from tables.job_counts
group by all order by file_no, jobs desc, machine_rung
"""

_JOINED = """
select file_no, joined_by, sum(count_jobs)::bigint as jobs from tables.job_counts
group by all order by file_no, jobs desc, joined_by
"""

_LATE = "select file_no, count_jobs, count_late, round(mean_days, 1), longest_days from tables.late_jobs"

_DAMAGED = """
select file_no, rule, sum(count_rows)::bigint as rows_counted, list(part_no order by part_no)[1:$1]
from normalise.damaged_numbers
group by all
order by file_no, rows_counted desc, rule
"""

_NOTHING = "select file_no, column_name, word, count_rows from normalise.nothing_charged order by all"

_CIRCULAR = """
select coalesce(parts.part_no, parts.part_key) from tables.current_parts as chains
join tables.parts as parts on parts.part_key = chains.part_key
where chains.is_circular order by 1
"""

_SUSPECTS = """
select suspected.file_no, suspected.record, suspected.job_id, files.name, suspected.of_record, suspected.of_job_id
from tables.suspected_repeats as suspected
join received.files as files on files.file_no = suspected.of_file_no
order by suspected.file_no, suspected.record
"""

_MISSING = """
select missing.file_no, missing.record, missing.job_id, missing.visit_on, files.name
from tables.missing_visits as missing
join received.files as files on files.file_no = missing.missing_from_no
order by missing.file_no, missing.record
"""
