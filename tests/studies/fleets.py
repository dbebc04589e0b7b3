"""Simulated fleets with known truth: many replicates at once, counted in days. Everything here is invented."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gamma

YEAR = 365.25
WINDOW = 1096  # days that the log covers
NEVER = 10.0**7
LAG = 4.0  # mean days from report to finish

SIZES = {"one van": 60, "four vans": 400, "national": 3000}


@dataclass(frozen=True)
class Fleet:
    """
    Machines of all replicates in one row of arrays (machines,), in days from the start of the log.

    `rep` is the replicate; `installed` may be negative; under observation for `enter` < day <= `leave`; `removed` is
    the machine's own end and may lie behind the window; `lost` is when its owner begins to call somebody else;
    `frailty` has mean 1.
    """

    rep: NDArray[np.int64]
    installed: NDArray[np.float64]
    enter: NDArray[np.float64]
    removed: NDArray[np.float64]
    lost: NDArray[np.float64]
    frailty: NDArray[np.float64]
    reps: int

    @property
    def leave(self) -> NDArray[np.float64]:
        """End of observation: the machine's own, or the window's."""
        return np.minimum(self.removed, WINDOW)

    def __len__(self) -> int:
        return len(self.rep)


@dataclass(frozen=True)
class Events:
    """
    What happened: arrays (events,), sorted by machine and time.

    `kind` 0 a failure, 1 a fault that came back; `finish` when the job on it was finished.
    """

    machine: NDArray[np.int64]
    time: NDArray[np.float64]
    finish: NDArray[np.float64]
    kind: NDArray[np.int64]

    def only(self, kept: NDArray[np.bool_]) -> Events:
        """Some of them."""
        return Events(self.machine[kept], self.time[kept], self.finish[kept], self.kind[kept])


def _sorted(machine, time, finish, kind) -> Events:
    order = np.lexsort((time, machine))
    return Events(machine[order], time[order], finish[order], kind[order])


def fleet(
    rng: np.random.Generator,
    reps: int,
    machines: int,
    variance: float,
    *,
    lost: float = 0.0,
    oldest: float = 12.0,
) -> Fleet:
    """
    Machines with staggered entry and removal.

    Half were installed before the log begins (evenly over `oldest` years), half within it; lives of machines are
    exponential with a mean of nine years. `variance` is that of the frailty (gamma), `lost` the share of customers a
    year who go elsewhere.
    """
    size = reps * machines
    old = rng.random(size) < 0.5
    installed = np.where(old, -rng.random(size) * oldest * YEAR, rng.random(size) * WINDOW)
    # Machines that were removed before the log began are in nobody's list.
    enter = np.maximum(installed, 0.0)
    removed = enter + rng.exponential(9 * YEAR, size) + 1.0
    gone = enter + (rng.exponential(YEAR / lost, size) if lost else np.full(size, NEVER))
    z = rng.gamma(1 / variance, variance, size) if variance else np.ones(size)
    rep = np.repeat(np.arange(reps), machines)
    return Fleet(rep, installed, enter, removed, gone, z, reps)


def events_of(
    rng: np.random.Generator,
    machines: Fleet,
    a_year: float,
    *,
    until: NDArray[np.float64],
    shape: float = 1.0,
    comes_back: float = 0.0,
    back_days: float = 12.0,
) -> Events:
    """
    Failures of one part on every machine, renewed by each repair: Weibull lives, mean `1 / a_year` years at frailty 1.

    A life begins when the repair is finished. With probability `comes_back` the repair does not hold and the fault is
    back after about `back_days` (exponential); the clock of the next failure goes on meanwhile.
    """
    scale = YEAR / (a_year * machines.frailty) / gamma(1 + 1 / shape)
    now, found = machines.enter.copy(), []
    alive = np.arange(len(machines))
    while alive.size:
        now[alive] += scale[alive] * rng.weibull(shape, alive.size)
        alive = alive[now[alive] < until[alive]]
        finish = now[alive] + rng.exponential(LAG, alive.size)
        found.append((alive, now[alive].copy(), finish, np.zeros(alive.size, dtype=np.int64)))
        now[alive] = finish
        if comes_back:
            drawn = rng.random(alive.size) < comes_back
            back, at = alive[drawn], finish[drawn] + rng.exponential(back_days, int(drawn.sum()))
            kept = at < until[back]
            again = at[kept] + rng.exponential(LAG, int(kept.sum()))
            found.append((back[kept], at[kept], again, np.ones(int(kept.sum()), dtype=np.int64)))
    return _sorted(*(np.concatenate(column) for column in zip(*found, strict=True)))


def seen(events: Events, machines: Fleet) -> Events:
    """Only what the log holds: events before the owner went elsewhere and before observation ended."""
    kept = (events.time < machines.lost[events.machine]) & (events.time < machines.leave[events.machine])
    return events.only(kept)


def mixed_up(rng: np.random.Generator, events: Events, machines: Fleet, share: float) -> Events:
    """A share of the jobs written down for another machine of the same replicate that was under observation then."""
    size = len(machines) // machines.reps
    wrong = rng.random(len(events.time)) < share
    other = machines.rep[events.machine] * size + rng.integers(size, size=len(events.time))
    there = (machines.enter[other] < events.time) & (events.time < machines.leave[other])
    machine = np.where(wrong & there, other, events.machine)
    return _sorted(machine, events.time, events.finish, events.kind)


def whole(machines: Fleet) -> Fleet:
    """The same machines with nobody lost."""
    return replace(machines, lost=np.full(len(machines), NEVER))


def next_after(events: Events) -> NDArray[np.int64]:
    """For each event the first one on the same machine that was reported after it was finished; -1 where there is none."""
    big = 4.0 * NEVER
    keys = events.machine * big + events.time
    place = np.searchsorted(keys, events.machine * big + events.finish, side="right")
    place = np.append(np.arange(len(keys)), -1)[np.minimum(place, len(keys))]
    same = (place >= 0) & (events.machine[place] == events.machine)
    return np.where(same, place, -1)
