"""What the owner gives for the stores."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pipeline.errors import WrongUseError

READY_RATE = 0.95


@dataclass(frozen=True)
class StoresWish:
    """
    What the owner gives.

    Attributes
    ----------
    ready_rate : float
        How often a piece shall be there when the next one is needed.
    short_cost : float or None
        What one missing piece costs, major units; then each part's rate follows from its price.
    """

    ready_rate: float = READY_RATE
    short_cost: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        if not 0.0 < self.ready_rate < 1.0:
            raise WrongUseError(f"--ready-rate must be between 0 and 1, but was {self.ready_rate:g}.")
        if self.short_cost is not None and not (math.isfinite(self.short_cost) and self.short_cost > 0):
            raise WrongUseError(f"--short-cost must be above 0, but was {self.short_cost:g}.")
