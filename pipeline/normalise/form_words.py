"""What a form reads, in words for a question."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from pipeline.normalise.forms import Typed

_MONTHS = (
    "January February March April May June July August September October November December".split()  # noqa: SIM905
)


def reading_in_words(kind: Typed, value: Any) -> str:
    """A value as read: "3 April 2026", "1 hour 18 minutes", "1234.50"; the same in every locale."""
    if value is None:
        return "nothing that can be read"
    if isinstance(value, datetime):
        clock = f", {value:%H:%M}" if (value.hour, value.minute) != (0, 0) else ""
        return f"{_day(value.date())}{clock}"
    if isinstance(value, date):
        return _day(value)
    if kind == "minutes":
        return _length(float(value))
    if kind == "money":
        return f"{value:,.2f}"
    return f"{value:g}"


def _day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _length(minutes: float) -> str:
    if minutes < 60:
        return f"{minutes:g} minutes"
    hours, rest = divmod(minutes, 60)
    plural = "hour" if hours == 1 else "hours"
    return f"{hours:g} {plural}" + (f" {rest:g} minutes" if rest else "")
