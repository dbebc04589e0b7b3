"""Second visits: why the first one did not end the job, and which part was missing (measure book, section 7)."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.first_visit import NEEDED_A_FIX, refuse_undated_visits
from pipeline.measures.groups import JOB_COLUMNS, Grouping, check_group, job_grouping
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows
from pipeline.measures.shares import UNIT, shares_of_kinds
from pipeline.measures.window import Bounds, resolve

# What the first visit says; a part is the missing one, not one that was worked on.
REASON, PART = "second_visit_reason", ("part_no", "part_name")
MISSING = ("needed not on van", "ordered", "faulty new")
GROUPS = (*(name for name in JOB_COLUMNS if name != REASON), "month", "age_band")
EXTRAS = ("effective_n", "median_wait_days", "waits", "from", "complete_to")


def second_visits(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Reasons why a first visit did not end the job, as a share of those jobs; with `part_no`, the part that was missing.

    `median_wait_days`: half of the `waits` jobs that were finished later waited no longer, first visit to finish.

    Raises
    ------
    CannotAnswerError
        If no visit says why another one was needed.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    split, by = _split(question)
    groups = job_grouping(by, dated="j.first_visit_on", people=question.people, allowed=GROUPS)
    refuse_undated_visits(con)
    records = _records(con, groups, bounds, with_part="part_no" in split)
    if not records.height:
        raise CannotAnswerError(
            f"No first visit that needed a fix left a job unfinished {bounds.window.in_words()}."
        )
    if records["second_visit_reason"].null_count() == records.height and "part_no" not in split:
        raise CannotAnswerError(
            "The log never says why a second visit was needed (second_visit_reason), so the reasons cannot be told apart."
        )
    names = (*groups.names, *split)
    jobs = pl.col("job_no").n_unique()
    # A job that lacked two parts stands in both rows.
    hits = records.group_by([*names, "unit"], maintain_order=True).agg(jobs.alias("hits"))
    machines = records.group_by([*groups.names, "unit"], maintain_order=True).agg(jobs.alias("of"))
    keys, shares = shares_of_kinds(hits, machines, groups.names, names, question.level)
    waits = _waits(records, keys, names)
    rows = [_row(*parts, names, bounds) for parts in zip(keys, shares, waits, strict=True)]
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _split(question: Question) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What the jobs are divided into, and the groups within which they are."""
    asked = set(question.by)
    has_part = bool(asked & set(PART))
    split = (*((REASON,) if REASON in asked or not has_part else ()), *(PART if has_part else ()))
    rest = tuple(name for name in question.by if name not in (REASON, *PART))
    for name in rest:
        check_group(name, (*GROUPS, REASON, *PART), people=question.people)
    return split, rest


def _records(
    con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds, *, with_part: bool
) -> pl.DataFrame:
    """One row per job that its first attended visit left unfinished (and missing part): reason, days waited."""
    missing = """
        select distinct l.job_no, l.visit_no, p.part_no, p.part_name
        from tables.lines as l join tables.parts as p on p.part_key = l.part_key
        where list_contains($missing, l.part_status)
    """
    part = "p.part_no, p.part_name" if with_part else "null as part_no, null as part_name"
    part_join = (
        f"left join ({missing}) as p on p.job_no = j.job_no and p.visit_no = v.visit_no" if with_part else ""
    )
    sql = f"""
    select {groups.select} j.job_no, {UNIT} as unit, coalesce(v.second_visit_reason, j.second_visit_reason) as second_visit_reason,
        {part},
        case when j.is_index and j.finished_at < $to_utc
            then date_diff('day', j.first_visit_on, j.finished_on) end as wait_days
    from tables.jobs as j
    join tables.visits as v on v.job_no = j.job_no and v.visit_no = j.first_attended_no
    {part_join}
    where j.is_fault and list_contains($needed, v.outcome)
        and not (v.outcome = 'fixed' and j.last_attended_no = j.first_attended_no)
        and coalesce(v.started_at, v.finished_at) >= $from_utc and coalesce(v.started_at, v.finished_at) < $to_utc
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "needed": list(NEEDED_A_FIX), "missing": list(MISSING)})


def _waits(records: pl.DataFrame, keys: list[dict[str, Any]], names: tuple[str, ...]) -> list[dict[str, Any]]:
    """Days waited for each reason or part, in the order of the keys."""
    waited = pl.col("wait_days").drop_nulls()
    found = records.group_by(names).agg(
        waited.quantile(0.5, interpolation="lower").alias("median_wait_days"), waited.len().alias("waits")
    )
    order = pl.DataFrame(keys, schema=records.select(names).schema)
    joined = order.join(found, on=list(names), how="left", nulls_equal=True, maintain_order="left")
    return joined.select("median_wait_days", "waits").to_dicts()


def _row(
    key: dict[str, Any], share: dict[str, Any], waits: dict[str, Any], names: tuple[str, ...], bounds: Bounds
) -> dict[str, Any]:
    what = "part" if names[-1] in PART else "reason"
    return {
        **key,
        **share,
        "unit": "share of jobs that needed a second visit",
        "basis": "fault jobs that needed a fix and were not ended by their first attended visit, by its day",
        "note": f"no {what} recorded" if key[names[-1]] is None else "",
        **waits,
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
