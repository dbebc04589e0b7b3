"""First-visit completion: did the first attended visit end the job (measure book, section 7)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.competing import CENSORED, Probability, incidence_of_records
from pipeline.estimators.sample import TOO_FEW, proportion_sample
from pipeline.measures.followed import LEFT, SAME_FAULT, first_end
from pipeline.measures.groups import WORK, Grouping, fullest, job_grouping, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.shares import UNIT, share_rows, sums_of
from pipeline.measures.window import Bounds, last_day, resolve

# Outcomes of a first visit that needed a fix. No fault found, quote declined, beyond economic repair and referred
# needed none from us; no access and cancelled are no attended visit; an unknown outcome does not say.
NEEDED_A_FIX = (
    "fixed",
    "temporary",
    "return booked",
    "awaiting customer",
    "advised",
    "made safe",
    "not finished",
    "open",
)
# The first visit did not end the job: it fails before the days begin to count.
NOT_FIRST = LEFT + 1
EXTRAS = (
    "effective_n",
    *("value_strict", "low_strict", "high_strict", "sample_strict", "effective_n_strict"),
    *("days", "left_out", "from", "complete_to"),
)


def first_visit(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Share of jobs that the first attended visit ended, by date of that visit; beside it, those that also held.

    Raises
    ------
    CannotAnswerError
        If no first visit has both a day and an outcome that needed a fix.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    groups = job_grouping(question.by, dated="j.first_visit_on", people=question.people)
    refuse_undated_visits(con)
    visits = fullest(_first_visits(con, groups, bounds), groups.names, question.most)
    records = visits.filter(pl.col("needed_a_fix"))
    if not records.height:
        raise CannotAnswerError(f"No first visit that needed a fix took place {bounds.window.in_words()}.")
    keys, at = positions(records, groups.names)
    strict = _not_held(records, at, len(keys), question)
    counts = _counts(visits, keys, groups.names)
    shares = _shares(records, at, len(keys), question.level)
    rows = [
        _row(key, share, counted, strict, place, question=question, bounds=bounds)
        for place, (key, share, counted) in enumerate(zip(keys, shares, counts, strict=True))
    ]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def _shares(records: pl.DataFrame, at: NDArray[Any], groups: int, level: float) -> list[dict[str, Any]]:
    """Share fixed at the first visit, from what each machine adds."""
    machines = (
        records.with_columns(at=at)
        .group_by("at", "unit")
        .agg(pl.col("is_fixed").sum(), pl.len().alias("jobs"))
    )
    sums = sums_of(machines["at"].to_numpy(), groups, machines["is_fixed"], machines["jobs"])
    return share_rows(sums, level)


def refuse_undated_visits(con: duckdb.DuckDBPyConnection) -> None:
    """
    Refuse where no first visit can be told from a later one.

    Raises
    ------
    CannotAnswerError
        If the log has no outcome, or no day, of the first attended visits.
    """
    sql = """
    select count(*) filter (where v.outcome is not null), count(coalesce(v.started_at, v.finished_at))
    from tables.jobs as j join tables.visits as v on v.job_no = j.job_no and v.visit_no = j.first_attended_no
    where j.is_fault
    """
    outcomes, dated = con.execute(sql).fetchall()[0]
    if not outcomes:
        raise CannotAnswerError(
            "The log records no outcome of a visit, so nobody can say whether the first one was enough."
        )
    if not dated:
        raise CannotAnswerError(
            "The log gives its visits no day (started_at or finished_at), so a first visit cannot be told from a later one."
        )


def _first_visits(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """One row per fault job and group: how its first attended visit ended, and what came after it."""
    # A further attended visit of the same job says that the first did not end it, whatever was written.
    sql = f"""
    with {WORK}
    select {groups.select} j.job_no, {UNIT} as unit,
        list_contains($needed, v.outcome) as needed_a_fix,
        coalesce(v.outcome = 'fixed', false) as is_fixed,
        coalesce(v.outcome = 'fixed' and j.last_attended_no = j.first_attended_no, false) as is_ended,
        case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
        case when r.removed_on <= $last_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
        date_diff('day', r.finished_on, $last_on) as days_followed
    from tables.jobs as j
    join tables.visits as v on v.job_no = j.job_no and v.visit_no = j.first_attended_no
    left join facts.repeats as r on r.job_no = j.job_no
    {groups.work_join}
    where j.is_fault and coalesce(v.started_at, v.finished_at) >= $from_utc
        and coalesce(v.started_at, v.finished_at) < $to_utc
    order by all
    """
    values = {**bounds.parameters, "last_on": last_day(bounds), "needed": list(NEEDED_A_FIX)}
    return ask(con, sql, values).with_columns(pl.col("needed_a_fix").fill_null(value=False))


def _not_held(records: pl.DataFrame, at: NDArray[Any], groups: int, question: Question) -> Probability:
    """
    Probability that the first visit did not end the job, or that the same fault was back within the days.

    One Aalen-Johansen curve for both: the visit fails on day 0, the return comes on day 1 + days. A job that nobody
    can follow (no machine, no finish, window over) leaves after day 0.
    """
    days, ended = first_end(records.with_columns(pl.col("days_followed").fill_null(-1)))
    is_followed = records["days_followed"].fill_null(-1).to_numpy() >= 0
    is_ended = records["is_ended"].to_numpy()
    time = np.where(is_ended & is_followed, days + 1, 0)
    cause = np.where(is_ended, np.where(is_followed, ended, CENSORED), NOT_FIRST)
    return incidence_of_records(
        at,
        time,
        cause,
        records["unit"].to_numpy(),
        groups=groups,
        day=question.days + 1,
        n_causes=NOT_FIRST + 1,
        causes=(SAME_FAULT, NOT_FIRST),
        level=question.level,
    )


def _counts(visits: pl.DataFrame, keys: list[dict[str, Any]], names: tuple[str, ...]) -> list[dict[str, Any]]:
    """First visits of each group that cannot be followed, and those left out."""
    needed = pl.col("needed_a_fix")
    unseen = pl.col("is_ended") & pl.col("days_followed").is_null()
    sums = (
        (needed & unseen).sum().alias("unseen"),
        (~needed).sum().alias("left_out"),
    )
    if not names:
        return visits.select(*sums).to_dicts()
    order = pl.DataFrame(keys, schema=visits.select(names).schema)
    counted = visits.group_by(names).agg(*sums)
    return order.join(counted, on=list(names), how="left", nulls_equal=True, maintain_order="left").to_dicts()


def _row(
    key: dict[str, Any],
    share: dict[str, Any],
    counted: dict[str, Any],
    strict: Probability,
    at: int,
    *,
    question: Question,
    bounds: Bounds,
) -> dict[str, Any]:
    low, high, n_eff = 1 - float(strict.high[at]), 1 - float(strict.low[at]), float(strict.n_eff[at])
    short = int(strict.followed_to[at]) < question.days + 1 and float(strict.value[at]) < 1.0
    sample = TOO_FEW if short else str(proportion_sample(n_eff, low, high, int(strict.units[at])))
    return {
        **key,
        **share,
        "unit": "share of jobs ended by the first visit",
        "basis": "fault jobs whose first attended visit needed a fix, by its day",
        "note": with_note(
            f"{counted['unseen']} of them could not be followed: no known machine or no finish"
            if counted["unseen"]
            else "",
            "followed for fewer days than asked: the strict share is a ceiling" if short else "",
        ),
        "value_strict": None if sample == TOO_FEW else 1 - float(strict.value[at]),
        "low_strict": low,
        "high_strict": high,
        "sample_strict": sample,
        "effective_n_strict": n_eff,
        "days": question.days,
        "left_out": counted["left_out"],
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
