"""A job, its visits and lines, while they are being made up. Times are days since the start of the log."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from statistics import NormalDist

from sample_logs.outcomes import Course
from sample_logs.park import Machine
from sample_logs.scenario import LOG_START
from sample_logs.sources import Source

Row = dict[str, str]
_NORMAL = NormalDist()


@dataclass
class Visit:
    """One visit; `start` and `finish` are None when nobody came."""

    technician: str
    outcome: str
    booked: float
    start: float | None = None
    finish: float | None = None
    minutes: int | None = None
    travel: int | None = None
    second_visit_reason: str = ""
    lines: list[Row] = field(default_factory=list)
    fields: Row = field(default_factory=dict)  # further columns of the visit


@dataclass
class Job:
    """One reported problem. The last three fields are truth and are not written."""

    machine: Machine
    kind: str
    reported: float
    symptom: str = ""
    fault_code: str = ""
    visits: list[Visit] = field(default_factory=list)
    returns_to: Job | None = None
    return_reason: str = ""
    job_id: str = ""
    is_open: bool = False
    source: Source | None = None
    course: Course | None = None
    expected_min: float = 0.0
    after: tuple[Source, ...] = ()  # what could bring the machine back, as it stood at the finish

    @property
    def finished(self) -> float | None:
        """Finish of the last attended visit, None while the job is open or when nobody came."""
        times = [
            visit.finish for visit in self.visits if visit.minutes is not None and visit.finish is not None
        ]
        return times[-1] if times and not self.is_open else None


def moment(day: float) -> datetime:
    """Local time, to the minute, of a day of the log."""
    return LOG_START + timedelta(minutes=round(day * 1440))


def to_minute(day: float) -> float:
    """Round a time to the minute, so that what is simulated is what is written."""
    return round(day * 1440) / 1440


def log_normal(rng: random.Random, median: float, sigma: float) -> float:
    """Draw from a log-normal distribution; one uniform draw, so that the stream is the same everywhere."""
    return median * math.exp(sigma * _NORMAL.inv_cdf(min(max(rng.random(), 1e-12), 1 - 1e-12)))


def slot(rng: random.Random, earliest: float) -> float:
    """First visit slot at or after a time: Monday to Saturday, between 8:00 and 16:30."""
    day = math.floor(earliest)
    if earliest - day > 16 / 24:
        day += 1
        earliest = float(day)
    while (day + LOG_START.weekday()) % 7 == 6:
        day += 1
        earliest = float(day)
    first = max(8 / 24, earliest - day)
    return to_minute(day + first + rng.random() * (16.5 / 24 - first))


def by_day(event: float, not_before: float) -> float:
    """Move an event of the night to the hours in which people telephone, on the same day and in order."""
    day = math.floor(event)
    said = day + (8 + 11 * (event - day)) / 24
    return to_minute(max(said, not_before + 20 / 1440))
