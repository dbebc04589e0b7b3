"""Comebacks that await a reason, and the reasons given: corrections of the job that came back, named by its number alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import duckdb

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.store import corrections
from pipeline.store.corrections import Correction
from pipeline.store.folder import Store
from pipeline.vocabulary import standard_values

COLUMN = "return_reason"
DAYS = 90


@dataclass(frozen=True)
class Comeback:
    """
    A job that came back with the same fault and says nothing of why.

    Attributes
    ----------
    job_id : str
        Number of the job that came back, as the log has it.
    row : str
        Reference of its first row.
    unit_type, symptom, done, done_again : str
        Kind of machine; what the first job was reported for, did, and what the second one did.
    days : int
        Between them.
    reported_on : date
        Of the comeback.
    """

    job_id: str
    row: str
    unit_type: str
    symptom: str
    done: str
    done_again: str
    days: int
    reported_on: date


class Unexplained(NamedTuple):
    """The same with the file and the record in which its first row stands."""

    file_no: int
    record: int
    job_id: str
    unit_type: str | None
    symptom: str | None
    done: str | None
    done_again: str | None
    days: int
    reported_on: date


def reasons() -> tuple[str, ...]:
    """The reasons there are, in the standard log's words."""
    return standard_values(COLUMN)


def without_reason(con: duckdb.DuckDBPyConnection) -> list[Unexplained]:
    """Same-fault returns within DAYS of a fix that are finished and have no reason in the build, newest first."""
    return [Unexplained(*row) for row in con.execute(_WITHOUT_REASON, {"days": DAYS}).fetchall()]


def awaiting(unexplained: Sequence[Unexplained], store: Store) -> list[Comeback]:
    """Those of them that were given no reason since the build either."""
    entries = {entry.file_no: entry for entry in store.manifest.active}
    given = {found.row for found in corrections.read(store.corrections) if found.column == COLUMN}
    found = []
    for one in unexplained:
        if one.file_no not in entries:
            continue
        row = corrections.reference(entries[one.file_no].source_hash, one.record)
        if row not in given:
            told = (one.unit_type or "", one.symptom or "", one.done or "", one.done_again or "")
            found.append(Comeback(str(one.job_id), row, *told, one.days, one.reported_on))
    return found


def keep_reasons(store: Store, given: Mapping[str, str]) -> int:
    """
    Keep reasons by row reference; figures follow when the log is built again.

    Raises
    ------
    WrongUseError
        If a reason is none of `reasons()`.
    CannotAnswerError
        If a row is not there any more.
    """
    for reason in given.values():
        if reason not in reasons():
            raise WrongUseError(f'A reason must be one of {", ".join(reasons())}, but was "{reason}".')
    with store.lock():
        active = store.manifest.active
        for row in given:
            if corrections.row_of(row, active) is None:
                raise CannotAnswerError(
                    "A job is not there any more: the log was loaded again. Reload the page."
                )
        corrections.keep(
            store.corrections, [Correction(row, COLUMN, reason) for row, reason in given.items()]
        )
    return len(given)


_WITHOUT_REASON = """
with works as (
    select p.job_no, string_agg(coalesce(parts.part_name, parts.part_no) || ', ' || p.action, '; ' order by parts.part_name, p.action) as done
    from facts.job_parts as p join tables.parts as parts on parts.part_key = p.part_key
    group by p.job_no
),
first_rows as (
    select job_no, min_by(file_no, line_no) as file_no, min_by(record, line_no) as record from tables.lines group by job_no
)
select rows.file_no, rows.record, again.job_id, again.unit_type, before.symptom, works.done, works_again.done,
    r.days_to_next, again.reported_on
from facts.repeats as r
join tables.jobs as before on before.job_no = r.job_no
join tables.jobs as again on again.job_no = r.next_job_no
join first_rows as rows on rows.job_no = r.next_job_no
left join works on works.job_no = r.job_no
left join works as works_again on works_again.job_no = r.next_job_no
where r.next_is_same_fault and r.days_to_next <= $days and again.return_reason is null and again.finished_on is not null
order by again.reported_on desc, again.job_no desc
"""
