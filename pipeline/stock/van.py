"""What a van should carry: chosen from the past needs of the log, held against what lies on the vans now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.planning.pooling import pooled_worth
from pipeline.planning.van import Tour
from pipeline.planning.van_choice import Choice, choose
from pipeline.planning.van_climb import Climb, Step
from pipeline.planning.van_limits import Limits
from pipeline.stock.history import History, history
from pipeline.stock.outlook import Fleet, Outlook, fleet_of, outlook
from pipeline.stock.parts import Parts, circular_words, currency_of, parts_of
from pipeline.stock.patterns import Selection, patterns
from pipeline.stock.present import Present, present
from pipeline.stock.wish import Wish, limits_of, money_now

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
# A piece that saves its van fewer trips a year than this (one in fifty years) is not worth its place, whatever is left.
LEAST_SAVED = 0.02


@dataclass(frozen=True)
class Basis:
    """What the choice rests on: the past, the parts, the present stock; read once from a build."""

    past: History
    parts: Parts
    now: Present
    currency: str
    circular: str
    fleet: Fleet | None = None

    def outlook(self, known: History) -> Outlook:
        """What lies ahead at the end of a history of these parts."""
        return outlook(known.needed, known.days, len(known.keys), self.fleet)


@dataclass(frozen=True)
class VanStock:
    """
    A chosen stock and what it is held against.

    Attributes
    ----------
    stock : int, (keys,)
        Pieces on each van, by the history's parts.
    van : int or None
        The one van that the stock is for; None for a stock that all carry.
    """

    basis: Basis
    wish: Wish
    selection: Selection
    tour: Tour
    limits: Limits
    choice: Choice
    stock: Ints
    ahead: Outlook
    van: int | None = None

    @property
    def chosen(self) -> Ints:
        """The stock by the selection's parts."""
        return self.stock[self.selection.parts]

    @property
    def cost(self) -> float:
        """Of one van's stock, major units."""
        return float(self.stock @ self.basis.parts.cost)

    @property
    def tours_a_year(self) -> float:
        """Of all vans together, or of the one van."""
        return _jobs_a_year(self.basis.past, self.van) / self.tour.jobs

    @cached_property
    def saved(self) -> Floats:
        """Second trips a year fewer than without that part, (keys,)."""
        climb = _at(self.tour, self.limits, self.chosen)
        saved = np.zeros(len(self.stock))
        for place in np.flatnonzero(self.chosen).tolist():
            before, pieces = climb.finished, int(self.chosen[place])
            climb.add(place, -pieces)
            saved[self.selection.parts[place]] = (before - climb.finished) * self.tours_a_year
            climb.add(place, pieces)
        return saved

    @cached_property
    def coming(self) -> Floats:
        """Need of each part in the next three months over that of the log, (keys,)."""
        return self.ahead.coming()

    @property
    def next_line(self) -> tuple[int, float] | None:
        """The part to take next if there were more money or room, and the second trips a year its first piece saves."""
        climb = _at(self.tour, self.limits, self.chosen)
        gain = np.where(self.chosen == 0, climb.gain, 0.0)
        if not gain.any():
            return None
        place = int(np.argmax(gain / self.limits.cost))
        return int(self.selection.parts[place]), float(gain[place]) * self.tours_a_year

    def share(self, finished: float) -> float:
        """Jobs finished between two restocks as a share of the jobs that only the right part decides, rare parts' too."""
        return finished / max(self.tour.wanting + self.selection.beyond * self.tour.jobs, 1e-12)

    @property
    def rare(self) -> Ints:
        """Positions of the parts that were needed, but too rarely to say."""
        jobs_of = self.selection.jobs_of
        return np.flatnonzero((jobs_of > 0) & (jobs_of < RATE_MIN_EVENTS))


def basis_of(con: duckdb.DuckDBPyConnection) -> Basis:
    """
    Read what a choice rests on.

    Raises
    ------
    CannotAnswerError
        If no attended fault job says which part it needed.
    """
    now = present(con)
    past = history(con, also=now.frame["part_key"].to_list())
    fleet = fleet_of(con, past.bounds, past.keys)
    return Basis(past, parts_of(con, past.keys), now, currency_of(con), circular_words(con), fleet)


def van_stock(basis: Basis, wish: Wish, van: int | None = None, weight: Floats | None = None) -> VanStock:
    """
    Choose a van's stock.

    Parameters
    ----------
    basis : Basis
    wish : Wish
    van : int, optional
        A van of the history, for a list by its own work; else one list that all carry.

    Raises
    ------
    CannotAnswerError
        If no part was needed often enough, or a limit needs prices or volumes that nobody wrote down.
    """
    ahead = basis.outlook(basis.past)
    selection = patterns(basis.past, coming=ahead.coming(), weight=weight)
    if not len(selection.parts):
        raise CannotAnswerError(
            f"No part was needed by {RATE_MIN_EVENTS} jobs or more, so nobody can say yet which to carry."
        )
    tour = Tour(selection.needs, wish.jobs_between_restocks)
    limits = limits_of(
        wish, tour, basis.parts, selection.parts, money_now(basis.now, basis.parts, basis.past.keys)
    )
    start = _present_start(basis, selection)
    choice = choose(tour, limits, start)
    vans = basis.past.vans if van is None else 1
    least = LEAST_SAVED * vans * tour.jobs / max(_jobs_a_year(basis.past, van), 1e-9)
    stock = np.zeros(len(basis.past.keys), dtype=np.int64)
    stock[selection.parts] = _without_idle(tour, limits, choice.stock, least)
    return VanStock(basis, wish, selection, tour, limits, choice, stock, ahead, van)


def own_weights(past: History) -> Iterator[Floats]:
    """Van by van what each job counts for its own list: its own fully, those of all as far as vans do the same work."""
    counts = np.zeros((past.vans, len(past.keys)))
    np.add.at(counts, (past.van[past.job], past.part), 1.0)
    borrowed = pooled_worth(counts) / max(1, len(past.job))
    for van in range(past.vans):
        yield np.asarray(borrowed + (past.van == van), dtype=np.float64)


def _jobs_a_year(past: History, van: int | None) -> float:
    return past.jobs_a_year * (1.0 if van is None else float((past.van == van).mean()))


def curve(found: VanStock, reached: float = 0.98) -> list[Step]:
    """
    The way up by gain for the money, without a limit of money: money of one van against jobs finished between two restocks.

    Parameters
    ----------
    found : VanStock
        Its room and lines limit the way.
    reached : float
        Share of all that a van could finish at which the way ends.
    """
    limits = Limits(
        found.limits.cost, found.limits.volume, litres=found.limits.litres, lines=found.limits.lines
    )
    climb = Climb(found.tour, limits)
    climb.up(reached * found.tour.finished(found.tour.most))
    return climb.steps


CHANGES = {
    "place": pl.String,
    "part_no": pl.String,
    "part_name": pl.String,
    "there": pl.Int64,
    "should_be": pl.Int64,
    "put_in": pl.Int64,
    "take_out": pl.Int64,
    "needed_in_jobs": pl.Int64,
}


def changes(found: VanStock) -> pl.DataFrame:
    """
    One row a van and part of which pieces have to come or go, with how many jobs of the log needed it.

    Raises
    ------
    CannotAnswerError
        If no stock list was loaded, or none of its places is a van.
    """
    now, keys = found.basis.now, found.basis.past.keys
    if not now.vans:
        raise CannotAnswerError(
            "No place of a stock list is a van (a place whose name holds the word van), so nothing can be put in or taken out: "
            "load one with --stock, with the columns place, part_no, quantity."
        )
    there = now.on_vans(keys)
    frames = []
    for place, on_van in zip(now.vans, there, strict=True):
        differs = np.flatnonzero(on_van != found.stock)
        rows = found.basis.parts.frame.select("part_no", "part_name")[differs]
        frames.append(
            rows.with_columns(
                pl.lit(place).alias("place"),
                pl.Series("there", on_van[differs]),
                pl.Series("should_be", found.stock[differs]),
                pl.Series("put_in", np.maximum(found.stock - on_van, 0)[differs]),
                pl.Series("take_out", np.maximum(on_van - found.stock, 0)[differs]),
                pl.Series("needed_in_jobs", found.selection.jobs_of[differs]),
            )
        )
    return pl.concat(frames).select(list(CHANGES)).cast(CHANGES)  # type: ignore[arg-type]


def _present_start(basis: Basis, selection: Selection) -> Ints | None:
    """The middle van of today, to be improved on."""
    if not basis.now.vans:
        return None
    middle = np.median(basis.now.on_vans(basis.past.keys), axis=0)
    return np.asarray(np.floor(middle[selection.parts]), dtype=np.int64)


def _at(tour: Tour, limits: Limits, stock: Ints) -> Climb:
    climb = Climb(tour, limits)
    climb.put(stock)
    return climb


def _without_idle(tour: Tour, limits: Limits, stock: Ints, least: float) -> Ints:
    """The stock without pieces that finish hardly any job."""
    climb = _at(tour, limits, stock)
    while True:
        losses = climb.losses()
        idle = np.flatnonzero((climb.stock > 0) & (losses < least))
        if not len(idle):
            return climb.stock
        # A piece of each at once: one by one, every round would look at everything again.
        for part in idle.tolist():
            climb.add(part, -1)
