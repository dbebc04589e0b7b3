"""Part failure rate and repairs by age (measure book, sections 2 and 3) on simulated fleets."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from pipeline.estimators.mcf import (
    MIN_AT_RISK,
    Happenings,
    Reading,
    Windows,
    first_age_at_risk,
    mcf_difference,
    mean_cumulative,
    read_at,
)
from pipeline.estimators.mcf_change import longest_stretch
from pipeline.estimators.rates import UnitSums, rate_ratio, unit_rate
from pipeline.estimators.sample import COMPARISON_MIN_N, age_sample, can_tell, rate_sample
from pipeline.measures.age_change import _compared
from pipeline.measures.ageing import Curves

from .fleets import WINDOW, YEAR, Events, Fleet, events_of, fleet, mixed_up, seen
from .scoring import Answers

REPEAT_DAYS = 30
TRUTH_MACHINES, TRUTH_SEED = 400_000, 8


@dataclass(frozen=True)
class Setting:
    """A cell: size and frailty of the fleet, failures a machine-year, share that does not hold, what is disturbed."""

    machines: int
    variance: float
    a_year: float = 0.15
    comes_back: float = 0.08
    lost: float = 0.0
    mixed: float = 0.0
    is_seen_only: bool = False


@dataclass(frozen=True)
class Counted:
    """Of each machine: replicate, failures of its own, days at risk, all jobs, and days from entry to exit."""

    rep: NDArray[np.int64]
    events: NDArray[np.float64]
    days: NDArray[np.float64]
    jobs: NDArray[np.float64]
    followed: NDArray[np.float64]


def counted(events: Events, machines: Fleet, *, is_seen_only: bool) -> Counted:
    """Count by the rules of the book: a job within 30 days of an earlier one on the part is a repeat; those days do not count."""
    enter, leave = machines.enter.copy(), np.floor(machines.leave)
    enter = np.floor(enter)
    report, finish = np.floor(events.time), np.floor(events.finish)
    is_first = np.ones(len(report), dtype=bool)
    is_first[1:] = events.machine[1:] != events.machine[:-1]
    if is_seen_only:
        # From the finish of the machine's first job, which is no event; machines never seen are not known.
        enter = np.full(len(machines), np.inf)
        enter[events.machine[is_first]] = finish[is_first]
    # Stretches off risk, merged where they touch: within a machine the running maximum of their ends.
    ends = finish + REPEAT_DAYS
    big = 10.0 * WINDOW
    latest = np.maximum.accumulate(events.machine * big + ends) - events.machine * big
    before = np.where(is_first, -np.inf, np.concatenate([[-np.inf], latest[:-1]]))
    is_own = report > before
    inside = (report >= enter[events.machine]) & (report < leave[events.machine])
    start = np.maximum(np.maximum(report, before), enter[events.machine])
    off = np.clip(np.minimum(ends, leave[events.machine]) - start, 0.0, None)
    size = len(machines)
    is_event = is_own & inside & ~(is_first & is_seen_only)
    followed = np.clip(leave - enter, 0.0, None)
    days = followed - np.bincount(events.machine, weights=off, minlength=size)
    return Counted(
        machines.rep,
        np.bincount(events.machine, weights=is_event, minlength=size),
        np.clip(days, 0.0, None),
        np.bincount(events.machine, weights=inside, minlength=size),
        followed,
    )


def _drawn(rng: np.random.Generator, setting: Setting, machines: Fleet) -> Events:
    events = events_of(rng, machines, setting.a_year, until=machines.leave, comes_back=setting.comes_back)
    events = seen(events, machines)
    return mixed_up(rng, events, machines, setting.mixed) if setting.mixed else events


def _rate(found: Counted, reps: int):
    seen_at_all = found.days > 0
    d, t, rep = found.events, found.days / YEAR, found.rep
    sums = [
        np.bincount(rep, weights=column, minlength=reps)
        for column in (d, t, d * d, d * t, t * t, seen_at_all)
    ]
    return unit_rate(UnitSums(*sums)), sums[0]


def failure_rate(rng: np.random.Generator, setting: Setting, reps: int) -> Answers:
    """
    Failures per machine-year.

    Naive: all jobs on the part, over the machines in the list times the years of the log; of machines seen only, all
    their jobs over the years since each was first seen.
    """
    machines = fleet(rng, reps, setting.machines, setting.variance, lost=setting.lost)
    found = counted(_drawn(rng, setting, machines), machines, is_seen_only=setting.is_seen_only)
    estimate, events = _rate(found, reps)
    jobs = np.bincount(found.rep, weights=found.jobs, minlength=reps)
    if setting.is_seen_only:
        naive = (jobs + np.bincount(found.rep, weights=found.followed > 0, minlength=reps)) / np.maximum(
            np.bincount(found.rep, weights=found.followed, minlength=reps) / YEAR, 1e-9
        )
    else:
        naive = jobs / (setting.machines * WINDOW / YEAR)
    truth = _true_rate(replace(setting, machines=0, lost=0.0, mixed=0.0))
    return Answers(estimate.value, estimate.low, estimate.high, truth, events, rate_sample(events), naive)


@lru_cache(maxsize=16)
def _true_rate(setting: Setting) -> float:
    rng = np.random.default_rng(TRUTH_SEED)
    huge = fleet(rng, 1, TRUTH_MACHINES, setting.variance)
    true = counted(_drawn(rng, setting, huge), huge, is_seen_only=setting.is_seen_only)
    return float(true.events.sum() / (true.days.sum() / YEAR))


def rate_of_one_event_each(rng: np.random.Generator, setting: Setting, reps: int) -> Answers:
    """Exact interval where nobody fails twice: machines leave at their first failure."""
    rate = setting.a_year
    life = rng.exponential(YEAR / rate, (reps, setting.machines))
    followed = rng.uniform(0, WINDOW, life.shape)
    d, t = (life < followed).astype(float), np.minimum(life, followed) / YEAR
    sums = [column.sum(axis=1) for column in (d, t, d * d, d * t, t * t)]
    estimate = unit_rate(UnitSums(*sums, np.full(reps, setting.machines)))
    naive = sums[0] / (setting.machines * WINDOW / YEAR)
    return Answers(estimate.value, estimate.low, estimate.high, rate, sums[0], rate_sample(sums[0]), naive)


def ratio_of_two_rates(rng: np.random.Generator, setting: Setting, reps: int) -> Answers:
    """Conditional exact interval of the ratio of two Poisson rates, the second half as high."""
    years = setting.machines * 2.0
    d1, d2 = rng.poisson(setting.a_year * years, reps), rng.poisson(setting.a_year * years / 2, reps)
    ratio = rate_ratio(d1, years, d2, years)
    value = np.where(np.isfinite(ratio.value), ratio.value, 2.0)
    return Answers(
        value, ratio.low, ratio.high, 2.0, (d1 + d2).astype(float), rate_sample(np.minimum(d1, d2))
    )


@dataclass(frozen=True)
class Ageing:
    """A fleet whose repairs come at (power / scale) (age / scale) ** (power - 1) a year, scale in years."""

    machines: int
    variance: float
    power: float = 1.5
    scale: float = 2.0

    def mean(self, days: NDArray[np.float64]) -> NDArray[np.float64]:
        """True mean number of repairs by an age."""
        return (np.maximum(days, 0.0) / YEAR / self.scale) ** self.power


@dataclass(frozen=True)
class Watched:
    """Windows and events of all replicates, ages in whole days."""

    windows: Windows
    happenings: Happenings
    reps: int


def watched(rng: np.random.Generator, setting: Ageing, reps: int) -> Watched:
    """Machines that come under observation at the age they have, and their repairs while they are."""
    machines = fleet(rng, reps, setting.machines, setting.variance)
    first = np.floor(machines.enter - machines.installed)
    last = np.maximum(np.floor(machines.leave - machines.installed) - 1, first)
    # Age just after the last day: events on whole days first … last.
    low, high = setting.mean(first), setting.mean(last + 1)
    count = rng.poisson(machines.frailty * (high - low))
    unit = np.repeat(np.arange(len(machines)), count)
    drawn = low[unit] + rng.random(len(unit)) * (high - low)[unit]
    age = np.clip(np.floor(drawn ** (1 / setting.power) * setting.scale * YEAR), first[unit], last[unit])
    return Watched(Windows(machines.rep, first - 1, last), Happenings(unit, age), reps)


@dataclass(frozen=True)
class Read:
    """Mean by an age in each replicate; the truth is not a number where the line has ended before."""

    reading: Reading
    truth: NDArray[np.float64]
    fewest: NDArray[np.int64]


def _read(found: Watched, setting: Ageing, years: float) -> Read:
    since = np.maximum(first_age_at_risk(found.windows, groups=found.reps, at_least=MIN_AT_RISK), 0.0)
    curve = mean_cumulative(found.windows, found.happenings, groups=found.reps, min_at_risk=MIN_AT_RISK)
    age = np.floor(years * YEAR)
    read = [read_at(curve, rep, [age], MIN_AT_RISK) for rep in range(found.reps)]
    columns = (np.array([getattr(each, name)[0] for each in read]) for name in Reading._fields)
    truth = setting.mean(np.full(found.reps, age + 1)) - setting.mean(np.where(since > 0, since + 1, 0.0))
    fewest = _fewest(found, since, age)
    return Read(Reading(*columns), np.where(fewest >= MIN_AT_RISK, truth, np.nan), fewest)


def _fewest(found: Watched, since: NDArray[np.float64], age: float) -> NDArray[np.int64]:
    """Fewest machines there on the way: it is lowest at the end of somebody's stay, and at the beginning."""
    group, entry, leave = (np.asarray(column) for column in found.windows)
    by_group = np.searchsorted(group, np.arange(found.reps + 1))
    fewest = np.zeros(found.reps, dtype=np.int64)
    for rep in range(found.reps):
        mine = slice(by_group[rep], by_group[rep + 1])
        ends = np.concatenate([leave[mine] + 1, [since[rep] + 1, age]])
        ends = ends[(ends > since[rep]) & (ends <= age)]
        here = np.searchsorted(np.sort(entry[mine]), ends) - np.searchsorted(np.sort(leave[mine]), ends)
        fewest[rep] = here.min(initial=0 if since[rep] >= age else 10**6)
    return fewest


def repairs_by(rng: np.random.Generator, setting: Ageing, reps: int, *, years: float) -> Answers:
    """Mean repairs by an age. Naive: repairs seen by that age, over all machines that ever were seen before it."""
    found = watched(rng, setting, reps)
    read = _read(found, setting, years)
    group = np.asarray(found.windows.group)
    by_then = np.asarray(found.happenings.time) <= years * YEAR
    events = np.bincount(group[found.happenings.unit], weights=by_then, minlength=reps)
    came = np.bincount(group, weights=np.asarray(found.windows.entry) < years * YEAR, minlength=reps)
    return Answers(
        *read.reading, read.truth, events, age_sample(events, read.fewest), events / np.maximum(came, 1)
    )


def difference_by(rng: np.random.Generator, setting: Ageing, reps: int, *, years: float) -> Answers:
    """Two groups alike: the difference of their means, to which the mean of the first is added so that bias is relative."""
    first, second = (_read(watched(rng, setting, reps), setting, years) for _ in range(2))
    apart = mcf_difference(first.reading, second.reading)
    # Counted from an age of their own each: the true difference is that of the two starts.
    truth = first.truth - second.truth + first.truth
    fewest = np.minimum(first.fewest, second.fewest)
    columns = (column + first.truth for column in apart)
    return Answers(*columns, truth, fewest.astype(float), age_sample(np.full(reps, 99), fewest))


def change(rng: np.random.Generator, setting: Ageing, reps: int) -> Answers:
    """
    Repairs a year in the older half of the time under observation less those in the younger, as the measure has it.

    Naive: repairs a machine and year of the log, machines older than six years less the younger ones counted by the age
    they have at the end.
    """
    found = watched(rng, setting, reps)
    group, entry, leave = (np.asarray(column) for column in found.windows)
    unit, time = np.asarray(found.happenings.unit), np.asarray(found.happenings.time)
    size = len(entry) // reps
    order = np.argsort(group[unit], kind="stable")
    unit, time = unit[order], time[order]
    bounds = np.searchsorted(group[unit], np.arange(reps + 1))
    rows = np.full((reps, 5), np.nan)
    for rep in range(reps):
        mine, events = slice(rep * size, (rep + 1) * size), slice(bounds[rep], bounds[rep + 1])
        one = _curves(
            Windows(group[mine] * 0, entry[mine], leave[mine]), unit[events] - rep * size, time[events]
        )
        compared = _compared(one, 0, 0.95)
        if compared is not None:
            got, split, end = compared
            start, _ = longest_stretch(one.windows, COMPARISON_MIN_N)
            told = can_tell(got.early_machines, got.late_machines, 1.0, 2.0)
            rows[rep] = (got.value, got.low, got.high, _true_change(setting, start, split, end), told)
    old = (leave > 6 * YEAR).astype(float)
    per = np.bincount(unit, minlength=len(entry))
    naive = [
        np.bincount(group, weights=per * kind, minlength=reps)
        / np.maximum(np.bincount(group, weights=kind, minlength=reps), 1)
        / (WINDOW / YEAR)
        for kind in (old, 1 - old)
    ]
    value, low, high, truth = (rows[:, column] * YEAR for column in range(4))
    sample = np.where(rows[:, 4] == 1, "enough", "too few")
    counts = np.bincount(group[unit], minlength=reps).astype(float)
    return Answers(value, low, high, truth, counts, sample, naive[0] - naive[1])


def _curves(windows: Windows, unit: NDArray[np.int64], time: NDArray[np.float64]) -> Curves:
    """One replicate as the measure has it; what the comparison does not look at is left out."""
    since = first_age_at_risk(windows, groups=1, at_least=MIN_AT_RISK)
    return Curves([{}], windows, Happenings(unit, time), None, None, since, "", None, "", 0)


def _true_change(setting: Ageing, start: float, split: float, end: float) -> float:
    # An age of whole days takes in the day itself.
    low, middle, high = (setting.mean(np.array([np.floor(age) + 1.0]))[0] for age in (start, split, end))
    return (high - middle) / (end - split) - (middle - low) / (split - start)
