"""What a van may take: money, litres, different parts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from pipeline.planning.van import Floats, Ints

LEAST_GAIN = 1e-12


@dataclass(frozen=True)
class Limits:
    """
    What a stock may take.

    Attributes
    ----------
    cost, volume : float, (parts,)
        Of one piece, above 0 and at least 0.
    budget, litres : float
        Infinite for no limit.
    lines : int or None
        Different parts at most.
    """

    cost: Floats
    volume: Floats
    budget: float = np.inf
    litres: float = np.inf
    lines: int | None = None

    def weight(self, pieces: Floats, new_lines: Floats, part: Ints) -> Floats:
        """What pieces of parts take of the limits together, each limit counted as 1."""
        taken = np.zeros(len(part))
        if np.isfinite(self.budget):
            taken += pieces * self.cost[part] / max(self.budget, LEAST_GAIN)
        if np.isfinite(self.litres):
            taken += pieces * self.volume[part] / max(self.litres, LEAST_GAIN)
        if self.lines is not None:
            taken += new_lines / max(self.lines, 1)
        # With nothing to limit it, money is what there is to choose by.
        return taken if taken.any() else pieces * self.cost[part] / self.cost.sum()

    def allows(self, stock: Ints) -> bool:
        """Whether a stock is within all limits."""
        return bool(
            float(stock @ self.cost) <= self.budget * (1 + 1e-12)
            and float(stock @ self.volume) <= self.litres * (1 + 1e-12)
            and (self.lines is None or int((stock > 0).sum()) <= self.lines)
        )
