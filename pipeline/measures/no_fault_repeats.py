"""Repeats after a job in which no fault was found: the first later report on the machine (measure book, sections 5 and 8)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.estimators.competing import Probability, incidence_of_records
from pipeline.estimators.sample import TOO_FEW, proportion_sample
from pipeline.measures.followed import OTHER, SAME_FAULT, first_end
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, last_day

COLUMNS = (
    "value_repeat",
    "low_repeat",
    "high_repeat",
    "numerator_repeat",
    "denominator_repeat",
    "sample_repeat",
)
# The last attended visit found nothing, and nothing outside the machine was found either: that would be a finding.
IS_NO_FAULT = """
    coalesce(j.outcome = 'no fault found', false)
        and j.job_no not in (select job_no from facts.outside_causes)
"""


def follow_ups(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> pl.DataFrame:
    """
    One row per job without a finding, on a known machine and finished in the window.

    `days_to_next` to the first later fault report, `next_is_same_fault` where it shares the symptom or a worked part
    or says so, `days_to_leave` to the machine's end, `days_followed` to the last day of the window.
    """
    sql = f"""
    with later as (
        select machine_no, reported_at, reported_on, min(job_no) as job_no
        from tables.jobs
        where is_fault and machine_no is not null and reported_at is not null and reported_on < $to_on
        group by all
    ),
    nothing as (
        select j.job_no, j.source, j.job_id, j.machine_no, j.finished_at, j.finished_on
        from tables.jobs as j
        where j.is_fault and j.machine_no is not null and j.finished_on <= $last_on and {IS_NO_FAULT}
    ),
    pairs as (
        select nothing.*, later.job_no as next_no, later.reported_on as next_on
        from nothing
        asof left join later
            on later.machine_no = nothing.machine_no and later.reported_at > nothing.finished_at
    ),
    same as (
        select pairs.job_no
        from pairs join tables.jobs as again on again.job_no = pairs.next_no
        where again.return_reason in ('same fault', 'wrong diagnosis')
            or (again.return_of = pairs.job_id and again.source = pairs.source)
        union
        select pairs.job_no
        from pairs
        join tables.job_symptoms as shown on shown.job_no = pairs.job_no
        join tables.job_symptoms as again on again.job_no = pairs.next_no and again.symptom = shown.symptom
        union
        select pairs.job_no
        from pairs
        join facts.job_parts as worked on worked.job_no = pairs.job_no
        join facts.job_parts as again on again.job_no = pairs.next_no and again.part_key = worked.part_key
    )
    select pairs.job_no, pairs.machine_no,
        date_diff('day', pairs.finished_on, pairs.next_on) as days_to_next,
        pairs.job_no in (select job_no from same) as next_is_same_fault,
        case when m.ended_on between pairs.finished_on and $last_on
            then date_diff('day', pairs.finished_on, m.ended_on) end as days_to_leave,
        date_diff('day', pairs.finished_on, $last_on) as days_followed
    from pairs join tables.machines as m on m.machine_no = pairs.machine_no
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})


def repeats_of(followed: pl.DataFrame, groups: int, question: Question) -> list[dict[str, Any] | None]:
    """
    Repeats of each group, None where no machine of it could be followed.

    Parameters
    ----------
    followed : DataFrame
        Follow-ups with `at`, the place of their group.
    groups : int
    question : Question
        Its days, kind and level.
    """
    if not followed.height:
        return [None] * groups
    time, cause = first_end(followed)
    places, mine = np.unique(followed["at"].to_numpy(), return_inverse=True)
    estimate = incidence_of_records(
        mine,
        time,
        cause,
        followed["machine_no"].to_numpy(),
        groups=len(places),
        day=question.days,
        n_causes=3,
        causes=(SAME_FAULT,) if question.kind == "same-fault" else (SAME_FAULT, OTHER),
        level=question.level,
    )
    found = {int(place): _repeat(estimate, number, question) for number, place in enumerate(places)}
    return [found.get(place) for place in range(groups)]


def _repeat(estimate: Probability, at: int, question: Question) -> dict[str, Any]:
    value, low, high = float(estimate.value[at]), float(estimate.low[at]), float(estimate.high[at])
    short = int(estimate.followed_to[at]) < question.days and value < 1.0
    sample = (
        TOO_FEW
        if short
        else str(proportion_sample(float(estimate.n_eff[at]), low, high, int(estimate.units[at])))
    )
    return {
        "value_repeat": None if sample == TOO_FEW else value,
        "low_repeat": low,
        "high_repeat": high,
        "numerator_repeat": int(estimate.events[at]),
        "denominator_repeat": int(estimate.n[at]),
        "sample_repeat": sample,
    }
