"""Fixed share and what stopped the rest: the figures that any log with outcomes can give (measure book, section 1)."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.estimators.proportions import wilson
from pipeline.estimators.sample import proportion_sample
from pipeline.measures.groups import WORK, job_grouping
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows
from pipeline.measures.window import Bounds, resolve

# Outcomes that say nothing yet about how the job ended.
UNDECIDED = ("unknown", "open", "return booked", "awaiting customer")
EXTRAS = ("all_jobs", "value_all", "low_all", "high_all", "from", "complete_to")


def fixed_share(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """Jobs that ended fixed over jobs with a known outcome; beside it, over all jobs."""
    bounds = resolve(con, question, needs_closed_jobs=False)
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    counts = _counts(con, question, bounds)
    if not counts:
        raise CannotAnswerError(f"There is no fault job reported {bounds.window.in_words()}.")
    if not any(row["known"] for row in counts):
        raise CannotAnswerError(
            "The log records no outcome, so the share of jobs that were fixed cannot be worked out."
        )
    rows = [_row(row, groups.names, question, bounds) for row in counts]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def not_fixed_reasons(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """What stopped the jobs that were not fixed: the share of those jobs by recorded reason."""
    bounds = resolve(con, question, needs_closed_jobs=False)
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    counts = _reason_counts(con, question, bounds)
    if not any(row["second_visit_reason"] for row in counts):
        raise CannotAnswerError("The log records no reason why a job was not fixed.")
    rows = [_reason_row(row, groups.names, question, bounds) for row in counts]
    names = (*groups.names, "second_visit_reason")
    return sorted_rows(frame(rows, names, ("from", "complete_to")), names)


def _counts(con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds) -> list[dict[str, Any]]:
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    sql = f"""
    with {WORK}
    select {groups.select}
        count(*) filter (where j.outcome = 'fixed') as fixed,
        count(*) filter (where j.outcome is not null and not list_contains($undecided, j.outcome)) as known,
        count(*) as jobs
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
    group by all
    """
    return ask(con, sql, _parameters(bounds)).to_dicts()


def _reason_counts(
    con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds
) -> list[dict[str, Any]]:
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    partition = f"partition by {', '.join(groups.expressions)}" if groups.names else ""
    sql = f"""
    with {WORK}
    select {groups.select} j.second_visit_reason, count(*) as jobs, sum(count(*)) over ({partition}) as not_fixed
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
        and j.outcome is not null and j.outcome <> 'fixed' and not list_contains($undecided, j.outcome)
    group by {"".join(f"{expression}, " for expression in groups.expressions)} j.second_visit_reason
    """
    return ask(con, sql, _parameters(bounds)).to_dicts()


def _parameters(bounds: Bounds) -> dict[str, object]:
    return {"from_utc": bounds.from_utc, "to_utc": bounds.to_utc, "undecided": list(UNDECIDED)}


def share_row(hits: int, of: int, level: float) -> dict[str, Any]:
    """Value, interval, counts and sample of a plain share."""
    if of == 0:
        return {
            "value": None,
            "low": 0.0,
            "high": 1.0,
            "numerator": hits,
            "denominator": of,
            "sample": "too few",
            "level": level,
        }
    low, high = (float(limit) for limit in wilson(hits, of, level))
    sample = proportion_sample(of, low, high)
    return {
        "value": hits / of,
        "low": low,
        "high": high,
        "numerator": hits,
        "denominator": of,
        "sample": str(sample),
        "level": level,
    }


def _row(row: dict[str, Any], names: tuple[str, ...], question: Question, bounds: Bounds) -> dict[str, Any]:
    over_all = share_row(row["fixed"], row["jobs"], question.level)
    return {
        **{name: row[name] for name in names},
        **share_row(row["fixed"], row["known"], question.level),
        "unit": "share of jobs with a known outcome",
        "basis": "fault jobs reported in the window",
        "note": f"{row['jobs'] - row['known']} of {row['jobs']} jobs have no known outcome yet",
        "all_jobs": row["jobs"],
        "value_all": over_all["value"],
        "low_all": over_all["low"],
        "high_all": over_all["high"],
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }


def _reason_row(
    row: dict[str, Any], names: tuple[str, ...], question: Question, bounds: Bounds
) -> dict[str, Any]:
    return {
        **{name: row[name] for name in names},
        "second_visit_reason": row["second_visit_reason"],
        **share_row(row["jobs"], int(row["not_fixed"]), question.level),
        "unit": "share of jobs not fixed",
        "basis": "fault jobs with a known outcome other than fixed",
        "note": "" if row["second_visit_reason"] else "no reason recorded",
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
