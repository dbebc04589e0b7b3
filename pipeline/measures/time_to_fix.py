"""Time to fix on three clocks: hands-on minutes, days without the machine, visits (measure book, section 6)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.competing import CENSORED, curves_from_records
from pipeline.estimators.jackknife import checked_records
from pipeline.estimators.restricted import quantile, restricted_mean
from pipeline.estimators.sample import TOO_FEW, mean_sample
from pipeline.measures.groups import WORK, Grouping, fullest, job_grouping, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.time_intervals import mean_with_interval
from pipeline.measures.window import Bounds, last_day, resolve

EXTRAS = ("median", "p80", "p90", "from", "complete_to")
QUANTILES = (
    ("median", 5),
    ("p80", 8),
    ("p90", 9),
)  # in tenths, so that their places are whole-number arithmetic
# Days without the machine are averaged over the first 60 only: a mean over an open-ended wait does not exist.
RESTRICTED_TO_DAYS = 60
# One value in more than half of the visits is a slot or a batch closure, not a time somebody took; from 20 visits on.
SLOT_SHARE, SLOT_MIN_VISITS = 0.5, 20
# Outcomes that end the wait otherwise than by a fix.
COMPETING = ("quote declined", "beyond economic repair", "referred")
FIXED, OTHERWISE = 0, 1
ALL_THE_SAME = "every time is the same: perhaps a slot, not the time taken"


def time_to_fix(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Mean, median and percentiles of the clock asked for, by group of jobs.

    Raises
    ------
    CannotAnswerError
        If the log does not record what the clock needs.
    """
    clocks = {"hands-on": _hands_on, "restored": _restored, "visits": _visits}
    return clocks[question.clock](con, question)


def _hands_on(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    refuse_slots(con)
    records = fixed_jobs(con, question, "j.hands_on_min")
    if not records.height:
        raise CannotAnswerError(
            "The log records no minutes on the machine for a fixed job (hands_on_min), so the time taken cannot be worked out."
        )
    return _means(
        con, question, records, "minutes", "minutes on the machine, fixed jobs with minutes recorded"
    )


def _visits(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    records = fixed_jobs(con, question, "j.count_visits")
    if not records.height:
        raise CannotAnswerError(
            "The log has no job that ended fixed on a known day (outcome and finished_at), so visits per fix cannot be counted."
        )
    return _means(con, question, records, "visits", "visits per fixed job")


def refuse_slots(con: duckdb.DuckDBPyConnection) -> None:
    """Refuse where the minutes are slots or batch closures, not a time that somebody took."""
    sql = "select hands_on_min, count(*) as n, sum(count(*)) over () as visits from tables.visits where hands_on_min is not null group by 1 order by n desc, 1 limit 1"
    for minutes, n, visits in con.execute(sql).fetchall():
        if visits >= SLOT_MIN_VISITS and n > SLOT_SHARE * visits:
            raise CannotAnswerError(
                f"{n} of {visits} visits show the same {minutes:.0f} minutes: those are slots or batch closures, not the time taken, "
                "so hands-on time is not worked out. Ask --clock restored or --clock visits."
            )


def fixed_jobs(con: duckdb.DuckDBPyConnection, question: Question, column: str) -> pl.DataFrame:
    """One row per fixed job and group: machine (or the job itself where none is known) and the job's figure."""
    bounds = bounds_of(con, question)
    groups = grouping_of(question)
    sql = f"""
    with {WORK}
    select {groups.select} coalesce(j.machine_no, -j.job_no) as unit, {column}::double as x
    from tables.jobs as j {groups.work_join}
    where j.is_index and {column} is not null and j.finished_at >= $from_utc and j.finished_at < $to_utc
    order by all
    """
    return fullest(ask(con, sql, bounds.parameters), groups.names, question.most)


def _means(
    con: duckdb.DuckDBPyConnection, question: Question, records: pl.DataFrame, unit: str, basis: str
) -> pl.DataFrame:
    bounds, names = bounds_of(con, question), grouping_of(question).names
    keys, at = positions(records, names)
    x = records["x"].to_numpy()
    low, high, notes = mean_with_interval(at, records["unit"].to_numpy(), x, len(keys), question)
    is_slot = question.clock == "hands-on"
    ends = np.cumsum(np.bincount(at, minlength=len(keys)))
    # Sorted once by group and value, each group is a slice and each quantile a position.
    pieces = np.split(x[np.lexsort((x, at))], ends[:-1])
    rows = [
        {
            **key,
            "value": float(piece.mean()),
            # Times of zero counted as half a minute must not push the range off the mean.
            "low": min(low[place], float(piece.mean())),
            "high": max(high[place], float(piece.mean())),
            "numerator": float(piece.sum()),
            "denominator": len(piece),
            "sample": str(mean_sample(len(piece))),
            "note": with_note(notes[place], ALL_THE_SAME if is_slot and _is_constant(piece) else ""),
            **_quantiles(piece),
            **_same_everywhere(unit, basis, question, bounds),
        }
        for place, (key, piece) in enumerate(zip(keys, pieces, strict=True))
    ]
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _is_constant(times: NDArray[Any]) -> bool:
    return len(times) > 1 and times[0] == times[-1]


def _quantiles(times: NDArray[Any]) -> dict[str, float]:
    """Quantiles of sorted times; none of too few, which say no more about the middle than about the mean."""
    if mean_sample(len(times)) == TOO_FEW:
        return {}
    return {name: float(times[_position(len(times), tenths)]) for name, tenths in QUANTILES}


def _position(n: int, tenths: int) -> int:
    """Place of a quantile among n sorted values: the first with at least that share at or below it."""
    return (n * tenths + 9) // 10 - 1


def _restored(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    bounds, groups = bounds_of(con, question), grouping_of(question)
    records = fullest(waits(con, groups, bounds), groups.names, question.most)
    if not (records["cause"] == FIXED).any():
        raise CannotAnswerError(
            "The log has no fault job with both a report and a finish (reported_at, finished_at), so days without the machine cannot be counted."
        )
    keys, at = positions(records, groups.names)
    time, cause = records["days"].to_numpy().astype(np.int64), records["cause"].to_numpy().astype(np.int64)
    curves = curves_from_records(at, time, cause, groups=len(keys), causes=2)
    by_unit = checked_records(at, time, cause, records["unit"].to_numpy(), None)
    mean = restricted_mean(
        curves, RESTRICTED_TO_DAYS, causes=(FIXED, OTHERWISE), level=question.level, by_unit=by_unit
    )
    shares = {
        name: quantile(curves, tenths / 10, causes=(FIXED,), level=question.level)
        for name, tenths in QUANTILES
    }
    n = np.bincount(at, minlength=len(keys))
    fixed = np.bincount(at, weights=cause == FIXED, minlength=len(keys))
    is_too_few = mean_sample(n) == TOO_FEW
    rows = [
        {
            **key,
            "value": float(mean.value[place]),
            "low": float(mean.low[place]),
            "high": float(mean.high[place]),
            "numerator": int(fixed[place]),
            "denominator": int(n[place]),
            "sample": str(mean_sample(n[place])),
            "note": with_note(
                "numerator: jobs seen fixed",
                "" if mean.is_complete[place] else "followed for fewer than 60 days: a floor",
            ),
            **{
                name: None if is_too_few[place] else float(found.value[place])
                for name, found in shares.items()
            },
            **_same_everywhere(
                f"days (first {RESTRICTED_TO_DAYS})",
                "fault jobs from report to working again, open ones followed as far as they go",
                question,
                bounds,
            ),
        }
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def waits(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """One row per fault job and group: days from report to its end or to the last day followed, and how it ended."""
    sql = f"""
    with {WORK}
    select {groups.select} coalesce(j.machine_no, -j.job_no) as unit,
        case when j.finished_on <= $last_on then date_diff('day', j.reported_on, j.finished_on)
            else date_diff('day', j.reported_on, $last_on) end as days,
        case when j.finished_on is null or j.finished_on > $last_on then {CENSORED}
            when j.outcome = 'fixed' then {FIXED} else {OTHERWISE} end as cause
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.reported_at >= $from_utc and j.reported_at < $to_utc
        and (j.finished_on is null or j.outcome = 'fixed' or list_contains($competing, j.outcome))
    order by all
    """
    values = {**bounds.parameters, "last_on": last_day(bounds), "competing": list(COMPETING)}
    return ask(con, sql, values)


def bounds_of(con: duckdb.DuckDBPyConnection, question: Question) -> Bounds:
    """Window of the clock."""
    return resolve(con, question, needs_closed_jobs=True)


def grouping_of(question: Question) -> Grouping:
    """Groups of the clock: by the day of the report for days without the machine, else by that of the finish."""
    dated = "j.reported_on" if question.clock == "restored" else "j.finished_on"
    return job_grouping(question.by, dated=dated, people=question.people)


def _same_everywhere(unit: str, basis: str, question: Question, bounds: Bounds) -> dict[str, Any]:
    return {
        "unit": unit,
        "basis": basis,
        "level": question.level,
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
