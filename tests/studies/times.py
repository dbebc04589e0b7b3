"""Times, shares and hours (measure book, sections 6 to 8) on simulated jobs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.bootstrap import bootstrap_figures
from pipeline.estimators.competing import CENSORED, curves_from_records
from pipeline.estimators.jackknife import checked_records
from pipeline.estimators.proportions import wilson
from pipeline.estimators.rates import UnitSums
from pipeline.estimators.restricted import restricted_mean
from pipeline.estimators.sample import mean_sample, proportion_sample, rate_sample
from pipeline.estimators.unit_shares import unit_share
from pipeline.measures.question import Question
from pipeline.measures.time_intervals import mean_with_interval

from .scoring import Answers

RESTRICTED_TO = 60


@dataclass(frozen=True)
class Jobs:
    """A cell: jobs a fleet, on how many machines, and how machines differ (variance of what is theirs)."""

    jobs: int
    machines: int
    variance: float = 0.0
    kind: str = "log-normal"
    spread: float = 0.6


def _machine_of(rng: np.random.Generator, setting: Jobs, reps: int) -> NDArray[np.int64]:
    """Machines of the jobs, drawn unevenly: frail ones have more of them."""
    weight = (
        rng.gamma(1.0, 1.0, (reps, setting.machines))
        if setting.variance
        else np.ones((reps, setting.machines))
    )
    share = np.cumsum(weight / weight.sum(axis=1, keepdims=True), axis=1)
    drawn = rng.random((reps, setting.jobs))
    return np.stack([np.searchsorted(share[rep], drawn[rep]) for rep in range(reps)]).clip(
        0, setting.machines - 1
    )


def _minutes(
    rng: np.random.Generator, setting: Jobs, unit: NDArray[np.int64]
) -> tuple[NDArray[np.float64], float]:
    """Minutes of each job, in whole minutes as people write them; and their true mean."""
    reps = len(unit)
    own = rng.normal(0, setting.variance**0.5, (reps, setting.machines))
    own = np.take_along_axis(own, unit, axis=1)
    factor = np.exp(own - setting.variance / 2)
    if setting.kind == "log-normal":
        base = 45 * np.exp(rng.normal(0, setting.spread, unit.shape) - setting.spread**2 / 2)
    elif setting.kind == "quick or long":
        long = rng.random(unit.shape) < 0.2
        base = np.where(long, rng.gamma(6, 20, unit.shape), rng.gamma(6, 5, unit.shape))
    else:
        base = rng.gamma(2.0, 22.5, unit.shape)
    mean = 48.0 if setting.kind == "quick or long" else 45.0
    return np.maximum(np.round(base * factor), 1.0), mean


def hands_on(rng: np.random.Generator, setting: Jobs, reps: int) -> Answers:
    """Mean minutes. Naive: the median, as if it were the mean."""
    unit = _machine_of(rng, setting, reps)
    minutes, truth = _minutes(rng, setting, unit)
    return _means(unit, minutes, truth, setting, "hands-on")


def visits(rng: np.random.Generator, setting: Jobs, reps: int) -> Answers:
    """Mean visits a fix: one, sometimes two, seldom three. Naive: the median."""
    unit = _machine_of(rng, setting, reps)
    drawn = rng.random(unit.shape)
    count = 1.0 + (drawn < 0.18) + (drawn < 0.04)
    return _means(unit, count, 1.22, setting, "visits")


def _means(
    unit: NDArray[np.int64], x: NDArray[np.float64], truth: float, setting: Jobs, clock: str
) -> Answers:
    """The measure's own limits, replicates as its groups."""
    reps = len(unit)
    n = np.full(reps, setting.jobs)
    at = np.repeat(np.arange(reps), setting.jobs)
    low, high, _ = mean_with_interval(at, unit.ravel(), x.ravel(), reps, Question(clock=clock))
    return Answers(x.mean(axis=1), low, high, truth, n.astype(float), mean_sample(n), np.median(x, axis=1))


def restored(rng: np.random.Generator, setting: Jobs, reps: int) -> Answers:
    """
    Mean days without the machine, restricted to 60: jobs reported within a year, those still open followed to its end.

    Naive: the mean of the jobs that are finished.
    """
    unit = _machine_of(rng, setting, reps)
    reported = rng.integers(0, 365, unit.shape)
    own = np.take_along_axis(rng.normal(0, setting.variance**0.5, (reps, setting.machines)), unit, axis=1)
    waits = rng.random(unit.shape) < 0.3
    days = np.where(waits, rng.gamma(2.0, 12.0, unit.shape), rng.exponential(2.5, unit.shape))
    days = np.floor(days * np.exp(own - setting.variance / 2)).astype(np.int64)
    declined = rng.random(unit.shape) < 0.1
    following = 365 - 1 - reported
    time = np.minimum(days, following)
    cause = np.where(days <= following, np.where(declined, 1, 0), CENSORED)
    rep = np.repeat(np.arange(reps), setting.jobs)
    at = (np.arange(reps)[:, None] * setting.machines + unit).ravel()
    curves = curves_from_records(rep, time.ravel(), cause.ravel(), groups=reps, causes=2)
    by_unit = checked_records(rep, time.ravel(), cause.ravel(), at, None)
    found = restricted_mean(curves, RESTRICTED_TO, (0, 1), 0.95, by_unit)
    truth = _true_wait(setting.variance)
    finished = cause >= 0
    naive = np.where(finished, time, 0).sum(axis=1) / np.maximum(finished.sum(axis=1), 1)
    n = np.full(reps, setting.jobs)
    return Answers(found.value, found.low, found.high, truth, n.astype(float), mean_sample(n), naive)


@lru_cache(maxsize=8)
def _true_wait(variance: float) -> float:
    rng = np.random.default_rng(5)
    size = 4_000_000
    days = np.where(rng.random(size) < 0.3, rng.gamma(2.0, 12.0, size), rng.exponential(2.5, size))
    own = rng.normal(0, variance**0.5, size)
    return float(np.minimum(np.floor(days * np.exp(own - variance / 2)), RESTRICTED_TO).mean())


def share(rng: np.random.Generator, setting: Jobs, reps: int, *, truth: float) -> Answers:
    """
    A share of jobs (first visit, no fault found) whose chance differs by machine.

    A plain share has no other usual figure than itself; its usual interval, which takes each job for a witness of its own, is
    another matter: see `usual_share`.
    """
    unit, hit = _answers(rng, setting, reps, truth)
    hits, jobs = (_by_machine(unit, column, setting.machines) for column in (hit, np.ones_like(hit)))
    columns = (hits, jobs, hits * hits, hits * jobs, jobs * jobs, jobs > 0)
    found = unit_share(UnitSums(*(column.sum(axis=1) for column in columns)))
    words = proportion_sample(found.n_eff, found.low, found.high, found.units)
    return Answers(found.value, found.low, found.high, truth, found.n_eff, words)


def usual_share(rng: np.random.Generator, setting: Jobs, reps: int, *, truth: float) -> Answers:
    """The same with the usual interval: Wilson on the counts."""
    hits = _answers(rng, setting, reps, truth)[1].sum(axis=1)
    low, high = wilson(hits, setting.jobs)
    n = np.full(reps, float(setting.jobs))
    return Answers(hits / setting.jobs, low, high, truth, n, proportion_sample(n, low, high))


def _by_machine(unit: NDArray[np.int64], amount: NDArray[np.float64], machines: int) -> NDArray[np.float64]:
    reps = len(unit)
    place = (np.arange(reps)[:, None] * machines + unit).ravel()
    return np.bincount(place, weights=amount.ravel(), minlength=reps * machines).reshape(reps, machines)


def _answers(
    rng: np.random.Generator, setting: Jobs, reps: int, truth: float
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Machine of each job, and whether it counts (1) or not (0)."""
    unit = _machine_of(rng, setting, reps)
    if setting.variance:
        # Beta with the mean asked for and the correlation `variance` between two jobs on one machine.
        worth = 1 / setting.variance - 1
        chance = rng.beta(truth * worth, (1 - truth) * worth, (reps, setting.machines))
        chance = np.take_along_axis(chance, unit, axis=1)
    else:
        chance = np.full(unit.shape, truth)
    return unit, (rng.random(unit.shape) < chance).astype(np.float64)


def unpaid(rng: np.random.Generator, setting: Jobs, reps: int) -> Answers:
    """Hours that nobody pays for per 100 jobs: percentile bootstrap by machine. Naive: unpaid visits at an hour each."""
    unit = _machine_of(rng, setting, reps)
    is_unpaid = rng.random(unit.shape) < 0.08
    hours = np.where(is_unpaid, rng.gamma(3.0, 0.35, unit.shape), 0.0)
    rows = []
    for rep in range(reps):
        columns = np.column_stack(
            [
                np.bincount(unit[rep], weights=hours[rep], minlength=setting.machines),
                np.bincount(unit[rep], minlength=setting.machines),
            ]
        )
        found = bootstrap_figures(columns[columns[:, 1] > 0], lambda sums: 100.0 * sums[:, :1] / sums[:, 1:])
        rows.append((float(found.value[0]), float(found.low[0]), float(found.high[0])))
    value, low, high = np.array(rows).T
    count = is_unpaid.sum(axis=1)
    # As the measure does it: fewer than three unpaid jobs bound nothing from above.
    few = count < 3
    low, high = np.where(few, 0.0, low), np.where(few, np.inf, high)
    words = np.where(few, "too few", np.where(count < 10, "rough", rate_sample(count)))
    return Answers(
        value, low, high, 100 * 0.08 * 1.05, count.astype(float), words, 100.0 * count / setting.jobs
    )
