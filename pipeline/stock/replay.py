"""
What a list would have done: chosen on the past before an origin, played through the months after it, origin by origin.

Beside it the stock that lies on the vans now, the same limits filled with the most-used parts, and a list that knew the
months it is played on: no list can be expected to pass that one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.prediction import Predicted, next_share
from pipeline.planning.replay import Wanted, finished_first, tours
from pipeline.planning.van import Tour
from pipeline.planning.van_choice import choose, most_used
from pipeline.planning.van_limits import Limits
from pipeline.stock.history import History
from pipeline.stock.patterns import Selection, patterns
from pipeline.stock.van import Basis, VanStock, own_weights

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
THIS, NOW, USED, KNEW = "this list", "on the vans now", "most-used parts", "knowing the future"
OWN = "own list of each van"
LEAST_PERIODS, MOST_PERIODS, DAYS_A_PERIOD = 4, 12, 91
# Jobs that needed a fix, in each period, below which nothing is foretold.
LEAST_JOBS = 10
LAST_JOBS = 100
# Exchanges of one choice: many are made here.
WORK = 1_000_000
WARNING = (
    "What was used depended on what the van carried then: a part that was never there may be missing from the log, and a list "
    "chosen from the log leans toward what was carried."
)


@dataclass(frozen=True)
class Period:
    """One origin: the jobs after it, and how each stock fared; arrays (jobs,) of the jobs that needed a fix."""

    first_day: int
    with_parts: Bools
    finished: dict[str, NDArray[np.float64]]


@dataclass(frozen=True)
class Replay:
    """
    All periods.

    Attributes
    ----------
    cost : dict
        What each stock costs a van, major units; on average over the origins.
    """

    periods: tuple[Period, ...]
    cost: dict[str, float]
    origins: tuple[int, ...]
    past: History
    level: float = 0.95

    @property
    def stocks(self) -> list[str]:
        """Names of the stocks compared, this list first."""
        return list(self.periods[0].finished)

    def counts(self, stock: str, *, with_parts: bool = False) -> tuple[NDArray[np.float64], Ints]:
        """Jobs finished at the first visit, and jobs, by period."""
        done = [p.finished[stock][p.with_parts | (not with_parts)].sum() for p in self.periods]
        jobs = [int(p.with_parts.sum()) if with_parts else len(p.with_parts) for p in self.periods]
        return np.array(done, dtype=np.float64), np.array(jobs, dtype=np.int64)

    def foretold(self, stock: str, jobs: int | None = None, *, with_parts: bool = False) -> Predicted:
        """The share of the next period, or of so many next jobs."""
        done, trials = self.counts(stock, with_parts=with_parts)
        return next_share(done, trials, jobs or max(1, round(float(trials.mean()))), self.level)


def replay(
    found: VanStock, *, each_van: bool = False, progress: Callable[[str], None] | None = None
) -> Replay:
    """
    Play the past with a list and with what it is held against.

    Parameters
    ----------
    found : VanStock
    each_van : bool
        Whether to play a list of its own for each van as well.
    progress : callable, optional
        Told of each period.

    Raises
    ------
    CannotAnswerError
        If the log is too short for four periods of ten jobs that needed a fix.
    """
    past = found.basis.past
    origins = _origins(past)
    periods: list[Period] = []
    money: list[dict[str, float]] = []
    for start, end in pairwise(origins):
        if progress:
            progress(f"Playing period {len(periods) + 1} of {len(origins) - 1}")
        stocks = _stocks(found, past.between(0, start), past.between(start, end), each_van=each_van)
        periods.append(_played(found, past.between(start, end), stocks, start))
        money.append({name: float((stock @ found.basis.parts.cost).mean()) for name, stock in stocks.items()})
    cost = {name: float(np.mean([each[name] for each in money])) for name in money[0]}
    return Replay(tuple(periods), cost, tuple(origins[:-1]), past)


def _origins(past: History) -> list[int]:
    """Days at which periods begin, and the end of the last: the later half of the log in equal pieces."""
    half = past.days // 2
    count = int(np.clip((past.days - half) // DAYS_A_PERIOD, LEAST_PERIODS, MOST_PERIODS))
    origins = [half + round((past.days - half) * at / count) for at in range(count + 1)]
    days = past.day[past.needed_fix]
    fewest = min(int(((days >= a) & (days < b)).sum()) for a, b in pairwise(origins))
    if fewest < LEAST_JOBS:
        raise CannotAnswerError(
            f"The log is too short to play a list on months it does not know: {count} periods of {LEAST_JOBS} jobs that needed "
            f"a fix are the least, and one of them has {fewest}."
        )
    return origins


def _stocks(found: VanStock, before: History, after: History, *, each_van: bool) -> dict[str, Ints]:
    """Stocks to compare, each (vans or 1, keys)."""
    basis, jobs, keys = found.basis, found.tour.jobs, len(found.basis.past.keys)
    coming = basis.outlook(before).coming()
    known = patterns(before, coming=coming)

    def best(selection: Selection) -> Ints:
        return _chosen(selection, found, keys, lambda tour, limits: choose(tour, limits, work=WORK).stock)

    stocks = {THIS: best(known)}
    if each_van:
        own = (patterns(before, coming=coming, weight=weight) for weight in own_weights(before))
        stocks[OWN] = np.concatenate([best(each) for each in own])
    if basis.now.vans:
        stocks[NOW] = basis.now.on_vans(basis.past.keys)
    stocks[USED] = _chosen(known, found, keys, most_used)
    future = patterns(after, least_jobs=1)
    seen = best(future)
    tour = tours(after.van, jobs)
    # The model's best list is not always the best on the very jobs; of all lists here the best one is taken.
    rivals = [seen, stocks[THIS], stocks[USED]]
    stocks[KNEW] = max(rivals, key=lambda stock: _finished(after, tour, stock[0]).sum())
    return stocks


def _chosen(known: Selection, found: VanStock, keys: int, choice: Callable[[Tour, Limits], Ints]) -> Ints:
    stock = np.zeros((1, keys), dtype=np.int64)
    if len(known.parts):
        parts, wish = found.basis.parts, found.limits
        limits = Limits(
            parts.cost[known.parts], parts.litres[known.parts], wish.budget, wish.litres, wish.lines
        )
        stock[0, known.parts] = choice(Tour(known.needs, found.tour.jobs), limits)
    return stock


def _played(found: VanStock, after: History, stocks: dict[str, Ints], start: int) -> Period:
    tour = tours(after.van, found.tour.jobs)
    with_parts = np.zeros(after.jobs, dtype=np.bool_)
    with_parts[after.job] = True
    # Nobody knows which technician drives which van of the stock list: each van's stock is played on all jobs.
    finished = {
        name: np.mean([_finished(after, tour, each) for each in stock], axis=0)
        for name, stock in stocks.items()
        if name != OWN
    }
    if OWN in stocks:
        own = np.array([_finished(after, tour, each) for each in stocks[OWN]])
        finished[OWN] = own[after.van, np.arange(after.jobs)].astype(np.float64)
    return Period(
        start, with_parts[after.needed_fix], {name: done[after.needed_fix] for name, done in finished.items()}
    )


def _finished(after: History, tour: Ints, stock: Ints) -> Bools:
    decide = after.parts_decide & after.needed_fix
    return finished_first(tour, Wanted(after.job, after.part, after.pieces), stock, decide)


def rows(played: Replay, *, priced: bool) -> pl.DataFrame:
    """
    One row per stock compared.

    `value` is the share of jobs that needed a fix and ended at the first visit; `low, high` hold the share of the next
    period with 95 %. The same for the jobs that needed parts stands in the columns `…_with_parts`.
    """
    return pl.DataFrame([_row(played, name, priced=priced) for name in played.stocks])


def _row(played: Replay, name: str, *, priced: bool) -> dict[str, Any]:
    done, jobs = played.counts(name)
    done_parts, jobs_parts = played.counts(name, with_parts=True)
    ahead, ahead_parts = played.foretold(name), _foretold_parts(played, name)
    return {
        "stock": name,
        "cost": round(played.cost[name], 2) if priced else None,
        "jobs": int(jobs.sum()),
        "finished_first": round(float(done.sum())),
        "value": ahead.value,
        "low": ahead.low,
        "high": ahead.high,
        "jobs_with_parts": int(jobs_parts.sum()),
        "finished_with_parts": round(float(done_parts.sum())),
        "value_with_parts": ahead_parts.value if ahead_parts else None,
        "low_with_parts": ahead_parts.low if ahead_parts else None,
        "high_with_parts": ahead_parts.high if ahead_parts else None,
        "periods": len(played.periods),
        "level": played.level,
    }


def _foretold_parts(played: Replay, name: str) -> Predicted | None:
    _, jobs = played.counts(name, with_parts=True)
    return played.foretold(name, with_parts=True) if jobs.sum() else None


def last_jobs(played: Replay, stock: str = THIS) -> tuple[int, int]:
    """Of the last jobs played (at most LAST_JOBS), how many a stock finished at the first visit, and how many they are."""
    done = np.concatenate([period.finished[stock] for period in played.periods])[-LAST_JOBS:]
    return round(float(done.sum())), len(done)


def sentence(played: Replay) -> str:
    """What an owner is told: the last hundred jobs, and what to expect of the next hundred."""
    done, jobs = last_jobs(played)
    ahead = played.foretold(THIS, LAST_JOBS)
    return (
        f"With this list {done} of your last {jobs} jobs that needed a fix would have ended at the first visit"
        f"{_beside(played, jobs)}; of the next {LAST_JOBS}, expect {_of_hundred(ahead.low)} to {_of_hundred(ahead.high)}."
    )


def _beside(played: Replay, jobs: int) -> str:
    name = NOW if NOW in played.stocks else USED
    other = last_jobs(played, name)[0]
    what = "with what the vans carry now" if name == NOW else "with the most-used parts for the same money"
    return f" ({other} {what})" if jobs else ""


def _of_hundred(share: float) -> str:
    return f"{share * LAST_JOBS:.0f}"


def basis_words(basis: Basis, played: Replay) -> list[str]:
    """What the replay rests on, in sentences."""
    start = basis.past.bounds.from_on
    return [
        (
            f"Each list was chosen on what was known on {len(played.periods)} days from {start + timedelta(days=played.origins[0])} "
            "on, and played job by job on the months after it. First visits that failed for another reason stay failed."
        ),
        "Likely range: 95 % prediction interval for the next period, jobs that need no part among them.",
        WARNING,
    ]
