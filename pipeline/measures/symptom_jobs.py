"""The fixed jobs behind the fixes of a symptom: what was done, whether it held, and how far that is known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.curves import Curves, curves_from_cells
from pipeline.measures.query import ask

HOLDS_AFTER = 90
TOGETHER = " + "
OUTSIDE = "outside: "
NEXT, TIMES = "\n", "\t"  # between the parts that a job needed, and between a part and its pieces
COMMON_SYMPTOMS = 1000
_EVER = date(1, 1, 1)
FEW = 20  # of one action: below that its jobs are followed together with the others

_BACK = f"coalesce(next_is_same_fault and days_to_next <= {HOLDS_AFTER} and next_on < $until, false)"
# Jobs that agree in everything asked of them are one row: behind a common symptom of a national network stand half a million.
_JOBS = f"""
with
asked as (
    select {{distinct}} job_no, unit_type, model, fault_code, hands_on_min, finished_on, {_BACK} as came_back,
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
    select job_no, any_value(columns(* exclude (job_no, subject, action, count_works))),
        string_agg(subject, '{TOGETHER}' order by subject) as subject,
        string_agg(distinct action, '{TOGETHER}' order by action) as action
    from asked where count_works > 1 group by job_no
),
jobs as (
    select * exclude (count_works) from asked where count_works <= 1
    union all by name
    select * from together
)
"""
_CELL = "unit_type, model, fault_code, subject, action, came_back, held_days"
_CELLS = f"""{_JOBS}
select {_CELL}, count(*) as jobs, max(finished_on) as finished_on from jobs group by all
"""
_CELLS_BY_NEEDS = f"""{_JOBS},
needed as (
    select job_no, part_key || '{TIMES}' || pieces as piece, count(*) over (partition by job_no) as count_parts
    from facts.part_needs where job_no in (select job_no from jobs)
),
needs as (
    select job_no, piece as needs from needed where count_parts = 1
    union all
    select job_no, string_agg(piece, '{NEXT}' order by piece) from needed where count_parts > 1 group by job_no
)
select {_CELL}, needs, count(*) as jobs, max(finished_on) as finished_on
from jobs left join needs on needs.job_no = jobs.job_no
group by all
"""
_MINUTES_OF_FIXES = f"""{_JOBS}
select subject, action, median(hands_on_min) as median, quantile_cont(hands_on_min, 0.8) as p80
from jobs
where subject is not null and not came_back and ($unit_type is null or unit_type = $unit_type)
group by all order by all
"""
_MINUTES = f"""{_JOBS}
select unit_type, model, fault_code, hands_on_min, count(*) as jobs
from jobs where subject is not null and hands_on_min is not null
group by all order by all
"""
_MINUTES_THAT_HELD = f"""{_JOBS}
select unit_type, subject, action, hands_on_min, count(*) as jobs
from jobs where subject is not null and not came_back and hands_on_min is not null
group by all order by all
"""
_COUNTED = f"""
with
ends as (
    select quantile_disc(finished_on, [0.4, 0.6, 0.8]) as cuts from facts.symptom_works where finished_on < $until
),
-- Texts that nothing settles are symptoms too, a million of them in a big log; what leans on what is seen in the common ones.
common as (
    select symptom from facts.symptom_works group by symptom order by count(*) desc, symptom limit {COMMON_SYMPTOMS}
),
followed as (
    select works.symptom, works.unit_type, works.fault_code, works.model, works.job_no, works.subject, works.action,
        works.count_works, len(list_filter(ends.cuts, lambda cut: works.finished_on >= cut)) as period
    from facts.symptom_works as works
    cross join ends
    where count_works > 0 and finished_on < $until and not {_BACK} and works.symptom in (select symptom from common)
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
    Jobs that showed a symptom and ended fixed, counted.

    Attributes
    ----------
    jobs : frame
        unit_type, model, fault_code, subject (a part's key, a cause outside, or a set), action, came_back, is_proven
        (followed for 90 days), where asked for needs (the parts that each needed, with their pieces); jobs (how many agree
        in all that), finished_on (the last of them), weight (fixes that held for which they count together).
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
    since: date = _EVER,
    with_needs: bool = False,
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
    with_needs : bool
        Whether jobs that needed other parts are told apart.
    """
    jobs = _ask(con, _CELLS_BY_NEEDS if with_needs else _CELLS, symptoms, until=until, since=since)
    labelled = jobs.filter(pl.col("subject").is_not_null())
    return SymptomJobs(
        _together(labelled.with_columns(_weights(labelled))), jobs_in(jobs) - jobs_in(labelled)
    )


def symptom_minutes(
    con: duckdb.DuckDBPyConnection, symptoms: tuple[str, ...], *, until: date
) -> pl.DataFrame:
    """
    Minutes on the machine of the jobs that `symptom_jobs` counts, where they are written down.

    Returns
    -------
    frame
        unit_type, model, fault_code, hands_on_min, jobs (how many agree in all that).
    """
    return _ask(con, _MINUTES, symptoms, until=until)


def minutes_that_held(con: duckdb.DuckDBPyConnection, symptom: str, *, until: date) -> pl.DataFrame:
    """
    Minutes on the machine of the jobs with a symptom whose fix has not come back, where they are written down.

    Returns
    -------
    frame
        unit_type, subject, action, hands_on_min, jobs (how many agree in all that).
    """
    return _ask(con, _MINUTES_THAT_HELD, (symptom,), until=until)


def minutes_of_fixes(
    con: duckdb.DuckDBPyConnection, symptoms: tuple[str, ...], unit_type: str | None, *, until: date
) -> pl.DataFrame:
    """
    Minutes on the machine of each fix that has not come back, on a kind of machine, or on all of them where None.

    Returns
    -------
    frame
        subject, action, median and p80 (minutes; null where none are written down).
    """
    return _ask(con, _MINUTES_OF_FIXES, symptoms, until=until, unit_type=unit_type)


def _ask(
    con: duckdb.DuckDBPyConnection,
    sql: str,
    symptoms: tuple[str, ...],
    *,
    until: date,
    since: date = _EVER,
    **values: object,
) -> pl.DataFrame:
    # A job that shows two of the symptoms counts once; with one symptom none can.
    distinct = "distinct" if len(symptoms) > 1 else ""
    given = {"symptoms": list(symptoms), "until": until, "since": since, **values}
    return ask(con, sql.format(distinct=distinct), given)


def jobs_in(cells: pl.DataFrame) -> int:
    """How many jobs rows of `SymptomJobs.jobs` stand for."""
    return int(cells["jobs"].sum())


def minutes_in(cells: pl.DataFrame) -> NDArray[np.float64]:
    """Minutes of each job that rows of `symptom_minutes` or `minutes_that_held` stand for, (jobs,)."""
    return np.repeat(cells["hands_on_min"].to_numpy().astype(np.float64), cells["jobs"].to_numpy())


def counted_fixes(con: duckdb.DuckDBPyConnection, *, until: date) -> pl.DataFrame:
    """
    Fixes of every common symptom that had not come back by a day, counted.

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


def _together(weighed: pl.DataFrame) -> pl.DataFrame:
    """Without the days that a job has held, which only its weight needs; added up in one order, so that sums are the same."""
    same = [name for name in weighed.columns if name not in ("held_days", "jobs", "finished_on", "weight")]
    return (
        weighed.with_columns((pl.col("held_days") >= HOLDS_AFTER).alias("is_proven"))
        .group_by(*same, "is_proven")
        .agg(
            pl.col("jobs").sum(),
            pl.col("finished_on").max(),
            pl.col("weight").sort_by("held_days").sum(),
        )
        .sort(*same, "is_proven")
    )


def _weights(jobs: pl.DataFrame) -> pl.Series:
    """A job that held 90 days counts one; one that is still holding its chance of going on to hold; one that came back nothing."""
    if not jobs.height:
        return pl.Series("weight", [], dtype=pl.Float64)
    counts = jobs.group_by("action").agg(pl.col("jobs").sum())
    many = counts.filter(pl.col("jobs") >= FEW)["action"].sort().to_list()
    place = {name: number for number, name in enumerate(many, 1)}
    at = jobs["action"].replace_strict(place, default=0, return_dtype=pl.Int64).to_numpy()
    held = np.maximum(jobs["held_days"].to_numpy().astype(np.int64), 0)
    back, many_jobs = jobs["came_back"].to_numpy(), jobs["jobs"].to_numpy().astype(np.int64)
    cells = (at, held, np.where(back, many_jobs, 0), np.where(back, 0, many_jobs))
    holding = _still_holding(curves_from_cells(*cells, groups=len(many) + 1))
    weight = holding[at, HOLDS_AFTER] / np.maximum(holding[at, np.clip(held, 0, HOLDS_AFTER)], 1e-9)
    return pl.Series("weight", np.where(back, 0.0, np.minimum(weight, 1.0)) * many_jobs)


def _still_holding(curves: Curves) -> NDArray[np.float64]:
    """Share still holding on each day 0 … 90, by group of actions (Kaplan-Meier)."""
    days = np.ones((curves.groups, HOLDS_AFTER + 1))
    for group in range(curves.groups):
        first, last = curves.offsets[group], curves.offsets[group + 1]
        times, survival = curves.time[first:last], curves.survival[first:last]
        rows = np.searchsorted(times, np.arange(HOLDS_AFTER + 1), side="right") - 1
        days[group] = np.where(rows >= 0, np.append(survival, 1.0)[rows], 1.0)
    return days
