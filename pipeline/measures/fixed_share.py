"""Fixed share and what stopped the rest: the figures that any log with outcomes can give (measure book, section 1)."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.groups import WORK, fullest, job_grouping, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows
from pipeline.measures.shares import UNIT, refuse_where_never_said, share_rows, shares_of_kinds, sums_of
from pipeline.measures.window import Bounds, resolve

# Outcomes that say nothing yet about how the job ended.
UNDECIDED = ("unknown", "open", "return booked", "awaiting customer")
EXTRAS = ("effective_n", "all_jobs", "value_all", "low_all", "high_all", "from", "complete_to")


def fixed_share(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """Jobs that ended fixed over jobs with a known outcome; beside it, over all jobs."""
    bounds = resolve(con, question, needs_closed_jobs=False)
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    counts = fullest(_counts(con, question, bounds), groups.names, question.most)
    if not counts.height:
        raise CannotAnswerError(f"There is no fault job reported {bounds.window.in_words()}.")
    if not counts["known"].sum():
        raise CannotAnswerError(
            "The log records no outcome, so the share of jobs that were fixed cannot be worked out."
        )
    if not counts["fixed"].sum():
        refuse_where_never_said(con, "fixed")
    keys, at = positions(counts, groups.names)
    over_known, over_all = (
        share_rows(sums_of(at, len(keys), counts["fixed"], counts[of]), question.level)
        for of in ("known", "jobs")
    )
    rows = [_row(*parts, bounds) for parts in zip(keys, over_known, over_all, strict=True)]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def not_fixed_reasons(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """What stopped the jobs that were not fixed: the share of those jobs by recorded reason."""
    bounds = resolve(con, question, needs_closed_jobs=False)
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    counts = _reason_counts(con, question, bounds)
    if not counts["second_visit_reason"].is_not_null().any():
        raise CannotAnswerError("The log records no reason why a job was not fixed.")
    names = (*groups.names, "second_visit_reason")
    machines = counts.group_by([*groups.names, "unit"], maintain_order=True).agg(
        pl.col("hits").sum().alias("of")
    )
    keys, shares = shares_of_kinds(counts, machines, groups.names, names, question.level)
    rows = [_reason_row(*parts, bounds) for parts in zip(keys, shares, strict=True)]
    return sorted_rows(frame(rows, names, ("effective_n", "from", "complete_to")), names)


def _counts(con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds) -> pl.DataFrame:
    """One row a machine and group: jobs that ended fixed, with a known outcome, in all."""
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    sql = f"""
    with {WORK}
    select {groups.select} {UNIT} as unit,
        count(*) filter (where j.outcome = 'fixed') as fixed,
        count(*) filter (where j.outcome is not null and not list_contains($undecided, j.outcome)) as known,
        count(*) as jobs
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
    group by all
    order by all
    """
    return ask(con, sql, _parameters(bounds))


def _reason_counts(con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds) -> pl.DataFrame:
    """One row a machine, group and reason: jobs not fixed for it."""
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    sql = f"""
    with {WORK}
    select {groups.select} j.second_visit_reason, {UNIT} as unit, count(*) as hits
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
        and j.outcome is not null and j.outcome <> 'fixed' and not list_contains($undecided, j.outcome)
    group by all
    order by all
    """
    return ask(con, sql, _parameters(bounds))


def _parameters(bounds: Bounds) -> dict[str, object]:
    return {"from_utc": bounds.from_utc, "to_utc": bounds.to_utc, "undecided": list(UNDECIDED)}


def _row(key: dict[str, Any], known: dict[str, Any], every: dict[str, Any], bounds: Bounds) -> dict[str, Any]:
    jobs = int(every["denominator"])
    return {
        **key,
        **known,
        "unit": "share of jobs with a known outcome",
        "basis": "fault jobs reported in the window",
        "note": f"{jobs - int(known['denominator'])} of {jobs} jobs have no known outcome yet",
        "all_jobs": jobs,
        "value_all": every["value"],
        "low_all": every["low"],
        "high_all": every["high"],
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }


def _reason_row(key: dict[str, Any], share: dict[str, Any], bounds: Bounds) -> dict[str, Any]:
    return {
        **key,
        **share,
        "unit": "share of jobs not fixed",
        "basis": "fault jobs with a known outcome other than fixed",
        "note": "" if key["second_visit_reason"] else "no reason recorded",
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
