"""The fixed jobs behind the fixes of a symptom: what was done, whether it held, and how far that is known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.curves import curves_from_records
from pipeline.measures.query import ask

HOLDS_AFTER = 90
TOGETHER = " + "
OUTSIDE = "outside: "
FEW = 20  # of one action: below that its jobs are followed together with the others

_BACK = f"coalesce(next_is_same_fault and days_to_next <= {HOLDS_AFTER} and next_on < $until, false)"
_JOBS = f"""
with
asked as (
    select distinct job_no, unit_type, make, model, fault_code, hands_on_min, finished_on, {_BACK} as came_back,
        case when not is_followed then 0
            else least({HOLDS_AFTER}, date_diff('day', finished_on, $until) - 1,
                case when next_on < $until then days_to_next else {HOLDS_AFTER} end)
        end as held_days,
        subject, action, count_works
    from facts.symptom_works
    where list_contains($symptoms, symptom) and finished_on < $until and finished_on >= $since
),
-- Few jobs have several works: only theirs have to be brought together.
together as (
    select any_value(columns(* exclude (subject, action, count_works))),
        string_agg(subject, '{TOGETHER}' order by subject) as subject,
        string_agg(distinct action, '{TOGETHER}' order by action) as action
    from asked where count_works > 1 group by job_no
)
select * exclude (count_works) from asked where count_works <= 1
union all
select * from together
order by finished_on, job_no
"""
_COUNTED = f"""
with
ends as (
    select quantile_disc(finished_on, [0.4, 0.6, 0.8]) as cuts from facts.symptom_works where finished_on < $until
),
followed as (
    select works.symptom, works.unit_type, works.fault_code, works.model, works.job_no, works.subject, works.action,
        works.count_works, len(list_filter(ends.cuts, lambda cut: works.finished_on >= cut)) as period
    from facts.symptom_works as works
    cross join ends
    where count_works > 0 and finished_on < $until and not {_BACK}
),
together as (
    select symptom, unit_type, fault_code, model, period,
        string_agg(subject, '{TOGETHER}' order by subject) as subject,
        string_agg(distinct action, '{TOGETHER}' order by action) as action
    from followed where count_works > 1 group by symptom, unit_type, fault_code, model, period, job_no
),
labelled as (
    select symptom, unit_type, fault_code, model, period, subject, action from followed where count_works = 1
    union all
    select * from together
)
select symptom, unit_type, fault_code, model, period, subject, action, cast(count(*) as double) as weight
from labelled group by all order by all
"""


@dataclass(frozen=True)
class SymptomJobs:
    """
    Jobs that showed a symptom and ended fixed.

    Attributes
    ----------
    jobs : frame
        unit_type, make, model, fault_code, hands_on_min, finished_on, subject (a part's key, a cause outside, or a set),
        action, came_back, held_days, weight (how much the job counts as a fix that held).
    unlabelled : int
        Fixed jobs that do not say what was done; they are in no row.
    """

    jobs: pl.DataFrame
    unlabelled: int


def symptom_jobs(
    con: duckdb.DuckDBPyConnection,
    symptoms: tuple[str, ...],
    *,
    until: date,
    since: date = date(1, 1, 1),
) -> SymptomJobs:
    """
    Fixed jobs with any of some symptoms, finished in a window and followed to its end.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    symptoms : tuple of str
        As the build knows them.
    until : date
        First day that no longer counts, for finishing and for coming back.
    since : date
        First day of finishing that counts.
    """
    jobs = ask(con, _JOBS, {"symptoms": list(symptoms), "until": until, "since": since})
    labelled = jobs.filter(pl.col("subject").is_not_null())
    return SymptomJobs(labelled.with_columns(_weights(labelled)), jobs.height - labelled.height)


def counted_fixes(con: duckdb.DuckDBPyConnection, *, until: date) -> pl.DataFrame:
    """
    Fixes of every symptom that had not come back by a day, counted.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    until : date
        First day that no longer counts.

    Returns
    -------
    frame
        symptom, unit_type, fault_code, model, period (0 to 3: the first 40 % of the fixes, then a fifth each), subject,
        action, weight (jobs).
    """
    return ask(con, _COUNTED, {"until": until})


def _weights(jobs: pl.DataFrame) -> pl.Series:
    """One for a fix that held 90 days; less for one that is still holding: the chance that it goes on to hold; else none."""
    if not jobs.height:
        return pl.Series("weight", [], dtype=pl.Float64)
    counts = jobs.group_by("action").len()
    many = set(counts.filter(pl.col("len") >= FEW)["action"])
    names = [action if action in many else "" for action in jobs["action"].to_list()]
    groups = sorted({*names, ""})
    place = {name: number for number, name in enumerate(groups)}
    at = np.array([place[name] for name in names], dtype=np.int64)
    held = jobs["held_days"].to_numpy().astype(np.int64)
    back = jobs["came_back"].to_numpy()
    holding = _still_holding(at, held, back, len(groups))
    weight = holding[at, HOLDS_AFTER] / np.maximum(holding[at, np.clip(held, 0, HOLDS_AFTER)], 1e-9)
    return pl.Series("weight", np.where(back, 0.0, np.minimum(weight, 1.0)))


def _still_holding(
    at: NDArray[np.int64], held: NDArray[np.int64], back: NDArray[np.bool_], groups: int
) -> NDArray[np.float64]:
    """Share still holding on each day 0 … 90, by group of actions (Kaplan-Meier)."""
    curves = curves_from_records(at, np.maximum(held, 0), np.where(back, 0, -1), groups=groups)
    days = np.ones((groups, HOLDS_AFTER + 1))
    for group in range(groups):
        first, last = curves.offsets[group], curves.offsets[group + 1]
        times, survival = curves.time[first:last], curves.survival[first:last]
        rows = np.searchsorted(times, np.arange(HOLDS_AFTER + 1), side="right") - 1
        days[group] = np.where(rows >= 0, np.append(survival, 1.0)[rows], 1.0)
    return days
