"""Figures of follow-up (measure book, sections 4, 5 and 8): part life, repeats; on simulated fleets."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.competing import CENSORED, incidence_of_records
from pipeline.estimators.curves import curves_from_records
from pipeline.estimators.jackknife import checked_records
from pipeline.estimators.restricted import restricted_mean
from pipeline.estimators.sample import proportion_sample
from pipeline.estimators.weibull import MIN_FAILURES, fit_weibull

from .fleets import NEVER, WINDOW, Events, Fleet, events_of, fleet, mixed_up, next_after, seen
from .scoring import Answers

SAME, OTHER, LEFT = 0, 1, 2
TRUTH_MACHINES, TRUTH_SEED = 400_000, 8
YEAR_DAYS = 365


@dataclass(frozen=True)
class Setting:
    """A cell: size and frailty of the fleet, failures a machine-year, shape of lives, share that does not hold, what is disturbed."""

    machines: int
    variance: float
    a_year: float = 0.5
    shape: float = 1.0
    comes_back: float = 0.1
    lost: float = 0.0
    mixed: float = 0.0


@dataclass(frozen=True)
class Records:
    """One a fix: arrays (fixes,); replicate, machine, days followed, what ended it."""

    rep: NDArray[np.int64]
    machine: NDArray[np.int64]
    time: NDArray[np.int64]
    cause: NDArray[np.int64]


def records(events: Events, machines: Fleet, end: float) -> Records:
    """Each fix finished within the window, followed to the next report, the machine's end, or the last day before `end`."""
    place = next_after(events)
    start = np.floor(events.finish)
    coming = np.where(place >= 0, np.floor(events.time[place]), NEVER) - start
    leaving = np.floor(machines.removed[events.machine]) - start
    following = end - 1 - start
    came = (coming <= following) & (coming <= leaving)
    left = ~came & (leaving <= following)
    same = events.kind[place] == 1
    cause = np.where(came, np.where(same, SAME, OTHER), np.where(left, LEFT, CENSORED))
    time = np.where(came, coming, np.where(left, leaving, following))
    kept = (start < WINDOW) & (events.finish < machines.removed[events.machine])
    return Records(
        machines.rep[events.machine][kept],
        events.machine[kept],
        time[kept].astype(np.int64),
        cause[kept].astype(np.int64),
    )


def simulated(rng: np.random.Generator, setting: Setting, reps: int) -> Records:
    """What the log holds of `reps` fleets."""
    machines = fleet(rng, reps, setting.machines, setting.variance, lost=setting.lost)
    events = _events(rng, machines, setting, machines.leave)
    events = seen(events, machines)
    if setting.mixed:
        events = mixed_up(rng, events, machines, setting.mixed)
    return records(events, machines, WINDOW)


def _events(
    rng: np.random.Generator, machines: Fleet, setting: Setting, until: NDArray[np.float64]
) -> Events:
    return events_of(
        rng, machines, setting.a_year, until=until, shape=setting.shape, comes_back=setting.comes_back
    )


@lru_cache(maxsize=8)
def true_records(setting: Setting) -> Records:
    """One huge fleet, every fix of the window followed for more than a year, nobody lost and nothing mixed up."""
    rng = np.random.default_rng(TRUTH_SEED)
    # As many fixes whatever the part: with fewer of a seldom one the truth itself was a hundredth off.
    machines = fleet(rng, 1, round(TRUTH_MACHINES * Setting.a_year / setting.a_year), setting.variance)
    end = WINDOW + YEAR_DAYS + 10
    events = _events(rng, machines, setting, np.minimum(machines.removed, end))
    return records(events, machines, end)


def _plain(setting: Setting) -> Setting:
    return replace(setting, machines=0, lost=0.0, mixed=0.0)


def probability(
    rng: np.random.Generator, setting: Setting, reps: int, *, day: int, causes: tuple[int, ...]
) -> Answers:
    """Probability by a day. Naive: seen by then, of all fixes, those too recent to know among them."""
    found = simulated(rng, setting, reps)
    estimate = incidence_of_records(
        found.rep, found.time, found.cause, found.machine, groups=reps, day=day, n_causes=3, causes=causes
    )
    hit = np.isin(found.cause, causes) & (found.time <= day)
    naive = np.bincount(found.rep, weights=hit, minlength=reps) / np.maximum(
        np.bincount(found.rep, minlength=reps), 1
    )
    true = true_records(_plain(setting))
    return Answers(
        estimate.value,
        estimate.low,
        estimate.high,
        float((np.isin(true.cause, causes) & (true.time <= day)).mean()),
        estimate.n_eff,
        proportion_sample(estimate.n_eff, estimate.low, estimate.high, estimate.units),
        naive,
    )


def mean_life(rng: np.random.Generator, setting: Setting, reps: int) -> Answers:
    """Mean life within a year. Naive: mean of the lives that have ended."""
    found = simulated(rng, setting, reps)
    causes = (SAME, OTHER)
    curves = curves_from_records(found.rep, found.time, found.cause, groups=reps, causes=3)
    by_unit = checked_records(found.rep, found.time, found.cause, found.machine, None)
    estimate = restricted_mean(curves, YEAR_DAYS, causes, 0.95, by_unit)
    ended = np.isin(found.cause, causes)
    naive = np.bincount(found.rep[ended], weights=found.time[ended], minlength=reps) / np.maximum(
        np.bincount(found.rep[ended], minlength=reps), 1
    )
    true = true_records(_plain(setting))
    spent = np.where(np.isin(true.cause, causes), np.minimum(true.time, YEAR_DAYS), YEAR_DAYS)
    probability_of = incidence_of_records(
        found.rep,
        found.time,
        found.cause,
        found.machine,
        groups=reps,
        day=YEAR_DAYS,
        n_causes=3,
        causes=causes,
    )
    return Answers(
        estimate.value,
        estimate.low,
        estimate.high,
        float(spent.mean()),
        probability_of.n_eff,
        np.where(
            estimate.is_complete,
            proportion_sample(
                probability_of.n_eff, probability_of.low, probability_of.high, probability_of.units
            ),
            "too few",
        ),
        naive,
    )


def shape_of_life(rng: np.random.Generator, setting: Setting, reps: int) -> Answers:
    """Weibull shape, fits with ten failures or more. Naive: the shape of the lives that have ended."""
    found = simulated(rng, setting, reps)
    failed = np.isin(found.cause, (SAME, OTHER)).astype(np.int64)
    fit = fit_weibull(found.rep, found.time + 0.5, failed, 1 - failed, groups=reps)
    naive = fit_weibull(found.rep, found.time + 0.5, failed, 0 * failed, groups=reps)
    told = fit.is_fitted & (fit.events >= MIN_FAILURES)
    return Answers(
        np.where(told, fit.shape, np.nan),
        fit.shape_low,
        fit.shape_high,
        np.where(told, setting.shape, np.nan),
        fit.events.astype(float),
        np.where(told, "enough", "too few"),
        naive.shape,
    )
