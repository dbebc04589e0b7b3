"""How long to book for a symptom: minutes on the machine, the middle one, and those within which 8 in 10 jobs are done."""

from __future__ import annotations

from typing import NamedTuple

import duckdb

from pipeline.errors import CannotAnswerError
from pipeline.estimators.order_statistics import Quantile, quantile
from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import minutes_in
from pipeline.measures.time_to_fix import refuse_slots

FEWEST = 10  # jobs with a time; fewer speak of the next coarser group of machines


class Booking(NamedTuple):
    """Minutes with their limits, the jobs behind them, and which group of machines they are of."""

    median: Quantile
    p80: Quantile
    jobs: int
    level: str


def time_to_book(con: duckdb.DuckDBPyConnection, fixes: Fixes) -> Booking:
    """
    Minutes on the machine of the jobs with the symptom that ended fixed, on this model where ten have a time, else wider.

    Raises
    ------
    CannotAnswerError
        If fewer than ten jobs have a time, or the times are slots.
    """
    refuse_slots(con)
    levels, minutes = fixes.levels, fixes.minutes
    groups = (
        (levels.names[-1], levels.narrowed(minutes)),
        (levels.kind_name, levels.narrowed(minutes, to_kind=True)),
        (levels.names[0], minutes),
    )
    most = 0
    for name, jobs in groups:
        times = minutes_in(jobs)
        most = max(most, times.size)
        if times.size >= FEWEST:
            return Booking(quantile(times, 0.5), quantile(times, 0.8), times.size, name)
    raise CannotAnswerError(
        f"Only {most} fixed jobs with this symptom have minutes on the machine: too few to say how long to book."
    )
