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

    def allows(self, stock: Ints) -> bool:
        """Whether a stock is within all limits."""
        return bool(
            float(stock @ self.cost) <= self.budget * (1 + 1e-12)
            and float(stock @ self.volume) <= self.litres * (1 + 1e-12)
            and (self.lines is None or int((stock > 0).sum()) <= self.lines)
        )
