"""What is asked of a van's stock, and the limits that follow from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.planning.van import Tour
from pipeline.planning.van_climb import Climb
from pipeline.planning.van_limits import Limits
from pipeline.stock.parts import Parts
from pipeline.stock.present import Present

Ints = NDArray[np.int64]
# Usually three to six customers between two restocks (Rippe & Kiesmüller 2022, CEJOR).
USUAL_JOBS = 5
MOST_JOBS = 200
# Without any limit and without a stock list the list goes so far, of all that a van could finish.
USUAL_SHARE = 0.9


@dataclass(frozen=True)
class Wish:
    """
    What the owner gives.

    Attributes
    ----------
    budget, litres : float or None
        Money (major units) and room that a van's stock may take.
    lines : int or None
        Different parts at most.
    jobs_between_restocks : int
        Attended fault jobs of one van, with or without a part.
    """

    budget: float | None = None
    litres: float | None = None
    lines: int | None = None
    jobs_between_restocks: int = USUAL_JOBS

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        for option, value in (("budget", self.budget), ("litres", self.litres), ("lines", self.lines)):
            if value is not None and not (math.isfinite(value) and value >= 0):
                raise WrongUseError(f"--{option} must be 0 or more, but was {value:g}.")
        if not 1 <= self.jobs_between_restocks <= MOST_JOBS:
            raise WrongUseError(
                f"--jobs-between-restocks must be between 1 and {MOST_JOBS}, but was {self.jobs_between_restocks}."
            )

    @property
    def is_unlimited(self) -> bool:
        """Whether nothing limits the stock."""
        return self.budget is None and self.litres is None and self.lines is None


def limits_of(wish: Wish, tour: Tour, parts: Parts, chosen_from: Ints, money: float | None = None) -> Limits:
    """
    The limits of a wish; without any, the money that a van carries now, else as far as USUAL_SHARE.

    Parameters
    ----------
    wish : Wish
    tour : Tour
        Of the parts chosen from.
    parts : Parts
        All of them.
    chosen_from : int, (chosen from,)
        Positions in `parts`.
    money : float or None
        What a van's stock is worth now, major units.

    Raises
    ------
    CannotAnswerError
        If a limit needs prices or volumes and none is known.
    """
    if wish.budget is not None and not parts.has_costs:
        raise CannotAnswerError(
            "No price of a part is known, so money cannot limit the stock: load a parts list with unit_cost (--parts), or use --lines."
        )
    if wish.litres is not None and not parts.has_litres:
        raise CannotAnswerError(
            "No volume of a part is known, so room cannot limit the stock: load a parts list with volume_l (--parts)."
        )
    cost, litres = parts.cost[chosen_from], parts.litres[chosen_from]
    limits = Limits(
        cost,
        litres,
        budget=np.inf if wish.budget is None else wish.budget,
        litres=np.inf if wish.litres is None else wish.litres,
        lines=wish.lines,
    )
    if not wish.is_unlimited:
        return limits
    if money is None:
        climb = Climb(tour, limits)
        climb.up(USUAL_SHARE * tour.finished(tour.most))
        money = climb.money
    return Limits(cost, litres, budget=money)


def money_now(now: Present, parts: Parts, keys: list[str]) -> float | None:
    """What the stock of a van is worth now, on average; None where the stock list names no van."""
    if not now.vans:
        return None
    return float((now.on_vans(keys) @ parts.cost).mean())
