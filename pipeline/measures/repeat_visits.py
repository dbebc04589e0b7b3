"""Repeat visits: is the machine called out again after a job that ended fixed (measure book, section 5)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.competing import Probability, incidence_of_records
from pipeline.estimators.sample import proportion_sample
from pipeline.estimators.standing_out import Bands, bands_against_others
from pipeline.measures.followed import OTHER, SAME_FAULT, first_end
from pipeline.measures.groups import WORK, Grouping, job_grouping, only_values, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, last_day, resolve

EXTRAS = (
    *("mature_numerator", "mature_denominator", "at_risk", "effective_n", "band", "adjusted_p"),
    *("days", "from", "complete_to"),
)


def repeat_visits(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Probability that the machine is called out again within the days asked for, by group of index jobs.

    `band` places each group against all the others ('better', 'cannot tell', 'worse'), with the false discovery rate
    held over all groups of the answer; a single group has none.

    Raises
    ------
    CannotAnswerError
        If no job ended fixed with a date, or no machine can be told from another.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    groups = job_grouping(question.by, dated="j.finished_on", people=question.people, only=question.only)
    _refuse_what_cannot_be(con)
    records = _records(con, groups, bounds, only_values(question.only))
    if not records.height:
        these = f" ({', '.join(value for _, value in question.only)})" if question.only else ""
        raise CannotAnswerError(f"No job on a known machine{these} ended fixed {bounds.window.in_words()}.")
    keys, at = positions(records, groups.names)
    estimate = _probability(records, at, len(keys), question)
    mature = _mature(records, at, len(keys), question)
    left_out = _without_machine(con, bounds)
    bands = _bands(estimate, question)
    rows = [
        _row(key, place, estimate, mature, bands, question=question, bounds=bounds, left_out=left_out)
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def _refuse_what_cannot_be(con: duckdb.DuckDBPyConnection) -> None:
    index_jobs = con.execute("select count(*) from tables.jobs where is_index").fetchall()[0][0]
    followed = con.execute("select count(*) from facts.repeats").fetchall()[0][0]
    if followed:
        return
    if index_jobs:
        raise CannotAnswerError(
            "The log gives its machines no identity (unit_id, serial or site), so nobody can say whether a machine came back."
        )
    raise CannotAnswerError(
        "The log has no job that ended fixed on a known day (outcome and finished_at), so repeat visits cannot be counted."
    )


def _records(
    con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds, only: dict[str, str]
) -> pl.DataFrame:
    """One row per index job and group: machine, day of the first later report if seen, how far it was followed."""
    sql = f"""
    with {WORK}
    select {groups.select} r.machine_no,
        case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
        case when r.removed_on <= $last_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
        date_diff('day', r.finished_on, $last_on) as days_followed
    from facts.repeats as r join tables.jobs as j on j.job_no = r.job_no {groups.work_join}
    where r.finished_at >= $from_utc and r.finished_at < $to_utc{groups.only_these}
    order by all
    """
    values = {**bounds.parameters, **only, "last_on": last_day(bounds)}
    return ask(con, sql, values)


def _causes(question: Question) -> tuple[int, ...]:
    return (SAME_FAULT,) if question.kind == "same-fault" else (SAME_FAULT, OTHER)


def _probability(records: pl.DataFrame, at: NDArray[Any], groups: int, question: Question) -> Probability:
    time, cause = first_end(records)
    return incidence_of_records(
        at,
        time,
        cause,
        records["machine_no"].to_numpy(),
        groups=groups,
        day=question.days,
        n_causes=3,
        causes=_causes(question),
        level=question.level,
    )


def _bands(estimate: Probability, question: Question) -> Bands | None:
    if len(estimate.value) < 2:
        return None
    is_followed = (estimate.followed_to >= question.days) | (estimate.value >= 1.0)
    return bands_against_others(estimate.value, estimate.n_eff, estimate.n, is_followed, question.level)


def _mature(
    records: pl.DataFrame, at: NDArray[Any], groups: int, question: Question
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Index jobs that could have been followed all the days asked for, whatever happened, and returns among them."""
    time, cause = first_end(records)
    could = records["days_followed"].to_numpy() >= question.days
    came = could & np.isin(cause, _causes(question)) & (time <= question.days)
    return np.bincount(at, weights=came, minlength=groups), np.bincount(at, weights=could, minlength=groups)


def _without_machine(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> int:
    sql = """
    select count(*) from tables.jobs
    where is_index and machine_no is null and finished_at >= $from_utc and finished_at < $to_utc
    """
    values = {"from_utc": bounds.from_utc, "to_utc": bounds.to_utc}
    return int(con.execute(sql, values).fetchall()[0][0])


def _row(
    key: dict[str, Any],
    at: int,
    estimate: Probability,
    mature: tuple[NDArray[Any], NDArray[Any]],
    bands: Bands | None,
    *,
    question: Question,
    bounds: Bounds,
    left_out: int,
) -> dict[str, Any]:
    low, high, n_eff = float(estimate.low[at]), float(estimate.high[at]), float(estimate.n_eff[at])
    short = int(estimate.followed_to[at]) < question.days and float(estimate.value[at]) < 1.0
    note = with_note(
        f"{left_out} fixed jobs without a known machine left out" if left_out else "",
        "followed for fewer days than asked: a floor" if short else "",
    )
    return {
        **key,
        "value": float(estimate.value[at]),
        "low": low,
        "high": high,
        "numerator": int(estimate.events[at]),
        "denominator": int(estimate.n[at]),
        "unit": f"probability of a repeat within {question.days} days"
        + (" (same fault)" if question.kind == "same-fault" else ""),
        "level": question.level,
        "sample": "too few" if short else str(proportion_sample(n_eff, low, high, int(estimate.units[at]))),
        "basis": "fixed jobs on known machines",
        "note": note,
        "mature_numerator": int(mature[0][at]),
        "mature_denominator": int(mature[1][at]),
        "at_risk": int(estimate.at_risk[at]),
        "effective_n": n_eff,
        "band": None if bands is None else str(bands.band[at]),
        "adjusted_p": None if bands is None else float(bands.adjusted_p[at]),
        "days": question.days,
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
