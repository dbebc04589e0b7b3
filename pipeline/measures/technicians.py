"""Returns by who chose the fix, against all others in like jobs: off until asked for, never ranked (section 12)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.competing import CENSORED
from pipeline.estimators.funnel import funnel_limits
from pipeline.estimators.observed_expected import (
    BETTER,
    CANNOT_TELL,
    WORSE,
    WORSE_BELOW,
    Stratified,
    compare_groups,
)
from pipeline.estimators.rates import exact_rate
from pipeline.estimators.sample import rate_sample
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.people import FEWEST_JOBS, allow
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, last_day, resolve

DAYS = 90
NAMES = ("technician",)
EXTRAS = (
    *("jobs", "observed", "expected", "ratio", "adjusted_p", "band", "left_out"),
    *(
        "limit_low_95",
        "limit_high_95",
        "limit_low_998",
        "limit_high_998",
        "spread",
        "days",
        "from",
        "complete_to",
    ),
)


def technicians(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Same-fault returns within 90 days by who chose the fix, over those expected of all others in the same kind of job.

    Raises
    ------
    WrongUseError
        If figures about people were not asked for, or other groups are.
    CannotAnswerError
        If fewer than two people have enough jobs that another has done too.
    """
    allow(people=question.people)
    if set(question.by) - set(NAMES):
        raise WrongUseError("The measure technicians takes no other --by: like jobs are compared already.")
    bounds = resolve(con, question, needs_closed_jobs=True)
    records = _records(con, bounds)
    people = records.get_column("technician").unique().sort().to_list()
    if len(people) < 2:
        raise CannotAnswerError(
            "The log names fewer than two people, so nobody can be compared with the others."
        )
    compared, adjusted, spread = _compare(records, people)
    shown = np.flatnonzero((compared.jobs >= FEWEST_JOBS) & (compared.expected > 0.0))
    if not shown.size:
        raise CannotAnswerError(
            f"Nobody has {FEWEST_JOBS} jobs of a kind that others have done too: too few to say."
        )
    rows = _rows(people, shown, compared, adjusted, spread=spread, question=question, bounds=bounds)
    return sorted_rows(frame(rows, NAMES, EXTRAS), NAMES)


def _records(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> pl.DataFrame:
    """One row per fix; jobs are alike in kind of machine, parts with what was done to them, and symptom."""
    sql = """
    with done as (
        -- Added up, so that works in any order are the same works, without an ordered text for each of millions of jobs.
        select job_no, sum(cast(hash(part_key, action) as hugeint)) as works
        from facts.job_parts group by job_no
    )
    select j.technician, hash(j.unit_type, done.works, j.symptom) as stratum,
        case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
        case when r.removed_on <= $last_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
        date_diff('day', r.finished_on, $last_on) as days_followed
    from facts.repeats as r
    join tables.jobs as j on j.job_no = r.job_no
    left join done on done.job_no = j.job_no
    where r.finished_at >= $from_utc and r.finished_at < $to_utc and j.technician is not null
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})


def _compare(records: pl.DataFrame, people: list[str]) -> tuple[Stratified, NDArray[np.float64], float]:
    time, cause = first_end(records)
    who = records.get_column("technician").replace_strict(people, list(range(len(people)))).to_numpy()
    stratum = records.get_column("stratum").rank("dense").to_numpy()
    returned = (cause != CENSORED) & (cause == SAME_FAULT)
    return compare_groups(
        who.astype(np.int64),
        stratum.astype(np.int64),
        time,
        returned,
        groups=len(people),
        days=DAYS,
        fewest=FEWEST_JOBS,
    )


def _rows(
    people: list[str],
    shown: NDArray[np.int64],
    compared: Stratified,
    adjusted: NDArray[np.float64],
    *,
    spread: float,
    question: Question,
    bounds: Bounds,
) -> list[dict[str, Any]]:
    observed, safe = compared.observed[shown], compared.expected[shown]
    limits = exact_rate(observed, safe, question.level)
    inner, outer = funnel_limits(safe, 0.025), funnel_limits(safe, 0.001)
    samples = rate_sample(observed)
    rows = []
    for n, place in enumerate(shown.tolist()):
        ratio = float(observed[n] / safe[n])
        is_told = adjusted[place] < WORSE_BELOW
        rows.append(
            {
                "technician": people[place],
                "value": ratio,
                "low": float(limits.low[n]),
                "high": float(limits.high[n]),
                "numerator": float(observed[n]),
                "denominator": float(safe[n]),
                "unit": f"returns with the same fault within {DAYS} days, observed over expected",
                "level": question.level,
                "sample": str(samples[n]),
                "basis": "fixed jobs on known machines of a kind that others have done too",
                "note": with_note("by who chose the fix; hard jobs are compared with hard jobs"),
                "jobs": int(compared.jobs[place]),
                "observed": int(observed[n]),
                "expected": float(safe[n]),
                "ratio": ratio,
                "adjusted_p": float(adjusted[place]),
                "band": (WORSE if ratio > 1.0 else BETTER) if is_told else CANNOT_TELL,
                "left_out": int(compared.left_out[place]),
                "limit_low_95": float(inner[0][n]),
                "limit_high_95": float(inner[1][n]),
                "limit_low_998": float(outer[0][n]),
                "limit_high_998": float(outer[1][n]),
                "spread": spread,
                "days": DAYS,
                "from": bounds.window.from_at,
                "complete_to": bounds.window.complete_to,
            }
        )
    return rows
