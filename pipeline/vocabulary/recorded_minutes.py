"""Minutes of one check as the log records them, and how sure their middle is."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

# Fewer checks say too little of their middle: the table is taken instead.
LEAST_CHECKS = 10


@dataclass(frozen=True)
class Recorded:
    """
    Minutes of a check on one kind of machine, or on all.

    Attributes
    ----------
    minutes : tuple of float
        Distinct minutes, rising, each above 0.
    checks : tuple of int
        How many checks took them.
    jobs : int
        How many jobs those were.
    is_shared : bool
        Whether it leaves the firm: then the middle is to the minute and no count is told.
    """

    minutes: tuple[float, ...]
    checks: tuple[int, ...]
    jobs: int
    is_shared: bool = False

    @property
    def count(self) -> int:
        """How many checks."""
        return sum(self.checks)

    @property
    def is_enough(self) -> bool:
        """Whether there are enough to go by their middle."""
        return self.count >= LEAST_CHECKS

    @property
    def median(self) -> float:
        """The middle; of an even number the mean of the two in the middle."""
        half = self.count / 2
        middle = float(self._at(np.array([np.ceil(half), np.floor(half) + 1])).mean())
        return max(1.0, float(round(middle))) if self.is_shared else middle

    @property
    def source(self) -> str:
        """Where the middle comes from."""
        return "from the log" if self.is_shared else f"from {self.count} checks in the log"

    def shared(self) -> Recorded:
        """The same as it may leave the firm, where there are jobs enough."""
        return replace(self, is_shared=True)

    def medians(self, rng: np.random.Generator, draws: int) -> NDArray[np.float64]:
        """
        What the middle of all such checks may be, as these allow.

        Parameters
        ----------
        rng : Generator
        draws : int

        Returns
        -------
        array of float, shape (draws,)
            Minutes: the share of checks below the true middle among n is drawn from the law of the middle of n uniform
            numbers, Beta((n + 1) / 2, (n + 1) / 2).

        References
        ----------
        David, H. A., Nagaraja, H. N. (2003), Order Statistics, 3rd ed., sections 2.1 and 7.1.
        """
        half = (self.count + 1) / 2
        return self._at(np.ceil(rng.beta(half, half, draws) * self.count))

    def _at(self, place: NDArray[np.float64]) -> NDArray[np.float64]:
        """The minutes of the check at a place, counted from 1, from the quickest to the slowest."""
        found = np.searchsorted(np.cumsum(self.checks), np.maximum(place, 1), side="left")
        return np.asarray(self.minutes, dtype=np.float64)[found]
