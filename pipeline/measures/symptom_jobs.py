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
_CELL = "unit_type, model, fault_code, subject, action, came_back, held_days, hands_on_min"
_CELLS = f"""{_JOBS}
select {_CELL}, count(*) as jobs, max(finished_on) as finished_on from jobs group by all order by all
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
        unit_type, model, fault_code, subject (a part's key, a cause outside, or a set), action, came_back, held_days,
        hands_on_min, jobs (how many agree in all that), finished_on (the last of them), weight (fixes that held for which
        they count together); where asked for, needs (the parts that each needed, with their pieces).
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
    # A job that shows two of the symptoms counts once; with one symptom none can.
    sql = (_CELLS_BY_NEEDS if with_needs else _CELLS).format(distinct="distinct" if len(symptoms) > 1 else "")
    jobs = ask(con, sql, {"symptoms": list(symptoms), "until": until, "since": since})
    labelled = jobs.filter(pl.col("subject").is_not_null())
    return SymptomJobs(labelled.with_columns(_weights(labelled)), jobs_in(jobs) - jobs_in(labelled))


def jobs_in(cells: pl.DataFrame) -> int:
    """How many jobs rows of `SymptomJobs.jobs` stand for."""
    return int(cells["jobs"].sum())


def minutes_in(cells: pl.DataFrame) -> NDArray[np.float64]:
    """Minutes on the machine of each job that has some, (jobs,)."""
    known = cells.filter(pl.col("hands_on_min").is_not_null())
    return np.repeat(known["hands_on_min"].to_numpy().astype(np.float64), known["jobs"].to_numpy())


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


def _weights(jobs: pl.DataFrame) -> pl.Series:
    """A job that held 90 days counts one; one that is still holding its chance of going on to hold; one that came back nothing."""
    if not jobs.height:
        return pl.Series("weight", [], dtype=pl.Float64)
    counts = jobs.group_by("action").agg(pl.col("jobs").sum())
    many = set(counts.filter(pl.col("jobs") >= FEW)["action"])
    names = [action if action in many else "" for action in jobs["action"].to_list()]
    groups = sorted({*names, ""})
    place = {name: number for number, name in enumerate(groups)}
    at = np.array([place[name] for name in names], dtype=np.int64)
    held = np.maximum(jobs["held_days"].to_numpy().astype(np.int64), 0)
    back, many_jobs = jobs["came_back"].to_numpy(), jobs["jobs"].to_numpy().astype(np.int64)
    cells = (at, held, np.where(back, many_jobs, 0), np.where(back, 0, many_jobs))
    holding = _still_holding(curves_from_cells(*cells, groups=len(groups)))
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
