"""Hours that a local clock skipped or showed twice: a moment written without a zone is not certain there."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import cache
from zoneinfo import ZoneInfo

# Clocks that were put forward or back outside these years are not looked for.
FIRST, LAST = date(1990, 1, 1), date(2051, 1, 1)


@cache
def days_of_change(zone: str) -> tuple[date, ...]:
    """Local days on which, or next to which, the clock of a zone was put forward or back."""
    tz = ZoneInfo(zone)
    found: set[date] = set()
    at = datetime.combine(FIRST, datetime.min.time(), UTC)
    before = at.astimezone(tz).utcoffset()
    while at.date() < LAST:
        at += timedelta(days=1)
        after = at.astimezone(tz).utcoffset()
        if after != before:
            found |= {at.astimezone(tz).date() + timedelta(days=days) for days in (-1, 0)}
        before = after
    return tuple(sorted(found))


def odd_hour(local: str, zoned: str, zone: str) -> str:
    """SQL for `skipped hour` or `doubled hour` of a local moment; null for any other."""
    days = ", ".join(f"date '{day}'" for day in days_of_change(zone))
    if not days:
        return "cast(null as varchar)"
    moment = f"timezone('{zone}', {local})"
    twice = " or ".join(f"timezone('{zone}', {moment} {shift}) = {local}" for shift in _SHIFTS)
    # The costly conversions are only made on the few days on which a clock changed.
    return (
        f"case when {zoned} is null and cast({local} as date) in ({days}) then "
        f"case when timezone('{zone}', {moment}) <> {local} then 'skipped hour' when {twice} then 'doubled hour' end end"
    )


# An hour as a rule, half an hour in one zone.
_SHIFTS = ("+ interval 60 minute", "- interval 60 minute", "+ interval 30 minute", "- interval 30 minute")
