"""What the page on stock shows, worked out from a build by `pipeline.stock`; nothing here knows how it is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.window import Bounds
from pipeline.show import render
from pipeline.stock import load_list, replay, van_rows
from pipeline.stock.stores import Stores
from pipeline.stock.van import Basis, VanStock, changes, curve, van_stock
from pipeline.stock.wish import Wish, money_now

POINTS = 300  # of the curve; a screen shows no more
STEPS = 40  # of the slider


@dataclass(frozen=True)
class Carry:
    """
    A van's stock for some money, and what it is held against.

    Attributes
    ----------
    money, most, step : float
        The limit, and the end and the step of the slider, major units.
    rows : list of dict
        See `pipeline.stock.van_rows.rows`, with the pooled row last where there is one.
    moves : polars.DataFrame
        See `pipeline.stock.van.changes`; empty without a stock list.
    curve : polars.DataFrame
        `cost, share`: money of one van, share of the jobs that only the right part decides.
    share, now_share : float
        Of those jobs, finished at the first visit; with this stock, with today's.
    promise, promise_refusal : str
        The replay in words; why there is none.
    sheets : str
        The load list to print, as HTML.
    book : bytes
        The list as a workbook.
    """

    refusal: str = ""
    money: float = 0.0
    most: float = 0.0
    step: float = 1.0
    currency: str = ""
    rows: list[dict[str, Any]] = field(default_factory=list)
    moves: pl.DataFrame = field(default_factory=pl.DataFrame)
    curve: pl.DataFrame = field(default_factory=pl.DataFrame)
    cost: float = 0.0
    share: float = 0.0
    now_cost: float | None = None
    now_share: float | None = None
    vans: int = 1
    jobs: int = 0
    jobs_for_parts: int = 0
    jobs_between_restocks: int = 0
    window: dict[str, Any] = field(default_factory=dict)
    following: str = ""
    promise: str = ""
    promise_refusal: str = ""
    sheets: str = ""
    book: bytes = b""
    warning: str = replay.WARNING

    @property
    def listed(self) -> list[dict[str, Any]]:
        """The rows of the list, without the pooled one."""
        return [row for row in self.rows if row["quantity"]]

    @property
    def pooled(self) -> dict[str, Any] | None:
        """What is too rare to say."""
        return next((row for row in self.rows if not row["quantity"]), None)


@dataclass(frozen=True)
class Shelf:
    """The stores: rows of `pipeline.stock.stores`, or why there are none."""

    refusal: str = ""
    rows: list[dict[str, Any]] = field(default_factory=list)
    currency: str = ""
    has_stock: bool = False
    is_long_enough: bool = False
    window: dict[str, Any] = field(default_factory=dict)


def carry(basis: Basis, money: float | None) -> Carry:
    """
    Choose a van's stock for some money; None for what a van carries now.

    Raises
    ------
    CannotAnswerError
        If no price is known, or no part was needed often enough.
    """
    if not basis.parts.has_costs:
        raise CannotAnswerError(
            "No price of a part is known, so money cannot be weighed against jobs: load a parts list with unit_cost (--parts)."
        )
    usual = van_stock(basis, Wish())
    steps = curve(usual)
    most = _nice(
        max(
            steps[-1].cost if steps else 0.0,
            1.2 * (money_now(basis.now, basis.parts, basis.past.keys) or 0.0),
        )
    )
    step = _nice(most / STEPS)
    limit = math.ceil(usual.cost / step) * step if money is None else money
    found = van_stock(basis, Wish(budget=limit))
    promise, refused = _promise(found)
    cost, share = _today(found)
    past = basis.past
    listed = van_rows.rows(found)
    return Carry(
        money=limit,
        most=most,
        step=step,
        currency=basis.currency,
        rows=listed.to_dicts(),
        sheets=load_list.page(found),
        book=render(listed, "xlsx"),
        moves=changes(found) if basis.now.vans else pl.DataFrame(),
        curve=_thinned([(0.0, 0.0), *((each.cost, found.share(each.finished)) for each in steps)]),
        cost=found.cost,
        share=found.share(found.tour.finished(found.chosen)),
        now_cost=cost,
        now_share=share,
        vans=past.vans,
        jobs=past.jobs,
        jobs_for_parts=past.jobs_for_parts,
        jobs_between_restocks=found.tour.jobs,
        window=_window(past.bounds),
        following=van_rows.next_words(found),
        promise=promise,
        promise_refusal=refused,
    )


def _window(bounds: Bounds) -> dict[str, Any]:
    """As the rows of a measure bear it."""
    return {"from": bounds.window.from_at, "complete_to": bounds.window.complete_to}


def _promise(found: VanStock) -> tuple[str, str]:
    try:
        return replay.sentence(replay.replay(found)), ""
    except CannotAnswerError as error:
        return "", str(error)


def _today(found: VanStock) -> tuple[float | None, float | None]:
    """What a van's stock costs today, and the share of jobs that it finishes, on average over the vans."""
    basis = found.basis
    if not basis.now.vans:
        return None, None
    there = basis.now.on_vans(basis.past.keys)
    finished = np.mean([found.tour.finished(each[found.selection.parts]) for each in there])
    return float((there @ basis.parts.cost).mean()), found.share(float(finished))


def _thinned(points: list[tuple[float, float]]) -> pl.DataFrame:
    every = max(1, math.ceil(len(points) / POINTS))
    kept = [*points[::every], points[-1]]
    return pl.DataFrame(kept, schema={"cost": pl.Float64, "share": pl.Float64}, orient="row").unique(
        maintain_order=True
    )


def _nice(number: float) -> float:
    """The next number above of the kind 1, 2, 2.5, 5 times a power of ten."""
    if number <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(number))
    return next(
        power * lead
        for lead in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
        if power * lead >= number * (1 - 1e-9)
    )


def shelf(found: Stores, currency: str) -> Shelf:
    """The stores as the page shows them."""
    return Shelf(
        rows=found.frame.to_dicts(),
        currency=currency,
        has_stock=found.now.frame.height > 0,
        is_long_enough=found.years >= 2,
        window=_window(found.bounds),
    )
