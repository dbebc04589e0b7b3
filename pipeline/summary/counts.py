"""Comebacks and trips in vain of some days, against what was usual in the months before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import duckdb
import polars as pl

from pipeline.estimators.usual_range import WITHIN, Usual, usual_range
from pipeline.measures.query import ask
from pipeline.summary.period import Period, ends_of_log, months_before

# The day on which somebody stood before the machine, or before a closed door.
_VISITS = """
select coalesce(v.started_on, v.finished_on, v.booked_for_on) as on_day, count(*) as n, count(t.visit_key) as hits
from tables.visits as v left join facts.trips_in_vain as t on t.visit_key = v.visit_key
where v.is_attended or t.visit_key is not null
group by 1
"""
COMEBACKS = """
comebacks as (
    select r.job_no, r.next_job_no, r.next_on, r.days_to_next
    from facts.repeats as r cross join settings."values" as s
    where r.next_is_same_fault and r.days_to_next <= s.guarantee_days
)
"""
_COMEBACKS = f"""
with {COMEBACKS}
select j.reported_on as on_day, count(*) as n, count(c.next_job_no) as hits
from tables.jobs as j left join (select distinct next_job_no from comebacks) as c on c.next_job_no = j.job_no
where j.is_fault and j.reported_on is not null
group by 1
"""


@dataclass(frozen=True)
class Count:
    """So many of so many, and what was usual; `usual` is None in a log that is too young to say, `is_known` false in one that cannot."""

    events: int
    of: int
    usual: Usual | None
    is_known: bool = True

    @property
    def where(self) -> str:
        """Below, within or above what is usual; nothing where that is not known."""
        return self.usual.where(self.events) if self.usual else ""

    @property
    def stands_out(self) -> bool:
        """Whether it lies outside what is usual."""
        return self.where not in ("", WITHIN)


def trips_in_vain(con: duckdb.DuckDBPyConnection, period: Period) -> Count:
    """Visits in vain, of all visits for which somebody set out; a log without a day of any visit cannot tell."""
    by_day = _by_day(con, _VISITS)
    return _count(con, by_day, period, is_known=by_day.height > 0)


def comebacks(con: duckdb.DuckDBPyConnection, period: Period) -> Count:
    """
    Fault jobs reported that are the same fault within our guarantee after our own fix, of all fault jobs reported.

    A log without a single fix that can be followed (a known machine, a day on which it was finished) cannot tell.
    """
    followed = ask(con, "select count(*) as fixes from facts.repeats", {})["fixes"][0]
    return _count(con, _by_day(con, _COMEBACKS), period, is_known=followed > 0)


def _by_day(con: duckdb.DuckDBPyConnection, sql: str) -> pl.DataFrame:
    return ask(con, sql, {}).filter(pl.col("on_day").is_not_null())


def _count(con: duckdb.DuckDBPyConnection, by_day: pl.DataFrame, period: Period, *, is_known: bool) -> Count:
    first_on, _ = ends_of_log(con)
    hits, n = _within(by_day, period.first_on, period.to_on)
    before = [_within(by_day, *month) for month in months_before(period, first_on)]
    usual = usual_range([x for x, _ in before], [of for _, of in before], n) if is_known else None
    return Count(hits, n, usual, is_known)


def _within(by_day: pl.DataFrame, first_on: date, to_on: date) -> tuple[int, int]:
    days = by_day.filter((pl.col("on_day") >= first_on) & (pl.col("on_day") < to_on))
    return int(days["hits"].sum()), int(days["n"].sum())
