"""The days that a summary is about: the last whole month, or what came after the loads before the last one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import duckdb

from pipeline.errors import CannotAnswerError
from pipeline.plain_words import day

NAMES = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September", "October"),
    *("November", "December"),
)
# A month whose last days bring no report (a week-end, a holiday) is over all the same.
QUIET_DAYS = 3
MOST_MONTHS = 24


@dataclass(frozen=True)
class Period:
    """Local days, half open; `name` is how people call them."""

    first_on: date
    to_on: date
    name: str

    @property
    def last_on(self) -> date:
        """The last day that counts."""
        return self.to_on - timedelta(days=1)

    @property
    def days(self) -> str:
        """1 Feb 2026 to 28 Feb 2026."""
        return f"{day(self.first_on)} to {day(self.last_on)}"


def last_month(con: duckdb.DuckDBPyConnection) -> Period:
    """
    The last month of the log that is over; what there is of it in a log that has no whole month.

    Raises
    ------
    CannotAnswerError
        If the log holds no job with a date.
    """
    first_on, last_on = ends_of_log(con)
    to_on = (last_on + timedelta(days=1 + QUIET_DAYS)).replace(day=1)
    to_on = max(last_on.replace(day=1), to_on)
    start = month_before(to_on)
    if start < first_on.replace(day=1) or to_on <= first_on:
        return Period(first_on, last_on + timedelta(days=1), f"{day(first_on)} to {day(last_on)}")
    return Period(start, to_on, f"{NAMES[start.month - 1]} {start.year}")


def since_last_load(con: duckdb.DuckDBPyConnection) -> Period | None:
    """The days after the last report that the loads before the last one held; None for the first load, or where nothing is newer."""
    sql = """
    select max(j.reported_on) from tables.jobs as j join facts.first_loads as f on f.job_no = j.job_no
    where f.first_load_no < (select max(load_no) from normalise.files where kind = 'log')
    """
    before = con.execute(sql).fetchall()[0][0]
    _, last_on = ends_of_log(con)
    if before is None or before >= last_on:
        return None
    return Period(before + timedelta(days=1), last_on + timedelta(days=1), f"since {day(before)}")


def ends_of_log(con: duckdb.DuckDBPyConnection) -> tuple[date, date]:
    """First day of the log, and the day of its last report."""
    rows = con.execute("select first_on, last_report_on from facts.windows").fetchall()
    if not rows or rows[0][0] is None or rows[0][1] is None:
        raise CannotAnswerError("No job with a date has been loaded yet, so there is nothing to sum up.")
    return rows[0][0], rows[0][1]


def months_before(period: Period, first_on: date) -> list[tuple[date, date]]:
    """Whole months of the log before a period, the latest first; half open."""
    to_on = period.first_on.replace(day=1)
    found: list[tuple[date, date]] = []
    while len(found) < MOST_MONTHS and (start := month_before(to_on)) >= first_on:
        found.append((start, to_on))
        to_on = start
    return found


def month_before(first: date) -> date:
    """First day of the month before."""
    return (first - timedelta(days=1)).replace(day=1)
