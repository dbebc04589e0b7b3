"""Which window a figure covers when the caller does not say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import duckdb

from pipeline.errors import CannotAnswerError
from pipeline.measures.question import Question, Window


@dataclass(frozen=True)
class Bounds:
    """A window as SQL needs it: local days, and moments in UTC."""

    window: Window
    from_on: date
    to_on: date
    from_utc: datetime
    to_utc: datetime

    @property
    def parameters(self) -> dict[str, object]:
        """Values to bind; a query names the ones it uses."""
        return {
            "from_on": self.from_on,
            "to_on": self.to_on,
            "from_utc": self.from_utc,
            "to_utc": self.to_utc,
        }


def resolve(con: duckdb.DuckDBPyConnection, question: Question, *, needs_closed_jobs: bool) -> Bounds:
    """
    The window of a question, half open.

    Default start: the first day of the log. Default end: for reports, the end of the day of the last report; for
    what needs a finished job, the last day by which 95 % of jobs are closed. Never "today".

    Raises
    ------
    CannotAnswerError
        If the log holds no dated job at all, or the window ends before it starts.
    """
    rows = con.execute(
        "select first_on, reports_complete_to, closed_complete_to from facts.windows"
    ).fetchall()
    first_on, reports_to, closed_to = rows[0] if rows else (None, None, None)
    if first_on is None or reports_to is None:
        raise CannotAnswerError("No job with a date has been loaded yet, so there is nothing to work out.")
    last = (closed_to or reports_to) if needs_closed_jobs else reports_to
    window = Window(question.from_at or _midnight(first_on), question.complete_to or _midnight(last))
    if window.from_at >= window.complete_to:
        raise CannotAnswerError(
            f"The window {window.in_words()} is empty: the log starts on {first_on} and can be counted on until {last}. "
            "Give --from and --complete-to."
        )
    zone = ZoneInfo(time_zone(con))
    return Bounds(
        window, window.from_on, window.to_on, _utc(window.from_at, zone), _utc(window.complete_to, zone)
    )


def time_zone(con: duckdb.DuckDBPyConnection) -> str:
    """The time zone that the log's local days belong to."""
    return str(con.execute("select time_zone from settings.values").fetchall()[0][0])


def last_day(bounds: Bounds) -> date:
    """The last local day that was followed."""
    return bounds.to_on - timedelta(days=1)


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time.min)


def _utc(local: datetime, zone: ZoneInfo) -> datetime:
    return local.replace(tzinfo=zone).astimezone(ZoneInfo("UTC")).replace(tzinfo=None)
