"""
Season: how much more a part is needed in the days ahead than over a whole year.

One wave a year, fitted to whole years only, so that a firm that grows is not taken for a season; where 24 months are there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.estimators.poisson_shape import Shape, fit_shape

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
DAYS_A_YEAR = 365.25
LEAST_YEARS = 2
BINS = 24


class Season(NamedTuple):
    """
    The wave of each part.

    Attributes
    ----------
    shape : Shape
    end : float
        Day at which the log ends, on the axis of the days given.
    """

    shape: Shape
    end: float

    @property
    def is_shown(self) -> Bools:
        """Parts with a season, (parts,)."""
        return self.shape.is_shown

    def ahead(self, days: ArrayLike) -> Floats:
        """
        Need over so many days after the end of the log, over that of as many days of the whole year.

        Parameters
        ----------
        days : array_like, (parts,) or scalar
            Above 0.

        Returns
        -------
        (parts,) float
            1 where no season is shown.
        """
        parts = len(self.shape.p)
        length = np.broadcast_to(np.asarray(days, dtype=np.float64), (parts,))
        year = self.shape.relative(_wave((np.arange(BINS) + 0.5) / BINS * DAYS_A_YEAR)).mean(axis=1)
        # The mean over the days ahead, at the middles of equal pieces of them.
        at = self.end + length[:, None] * (np.arange(BINS) + 0.5) / BINS
        waves = _wave(at.ravel()).reshape(parts, BINS, 2)
        now = np.exp(np.einsum("pk,pbk->pb", self.shape.slope, waves)).mean(axis=1)
        return np.asarray(now / year, dtype=np.float64)


def season(part: ArrayLike, day: ArrayLike, days: int, parts: int) -> Season:
    """
    Fit the season of each part.

    Parameters
    ----------
    part, day : int, (needs,)
        Of jobs that needed the part; day from the first day of the log.
    days : int
        Length of the log; below 24 months no season is looked for.
    parts : int
    """
    of, on = np.asarray(part, dtype=np.int64), np.asarray(day, dtype=np.float64)
    years = int((days + 1) / DAYS_A_YEAR)
    counts = np.zeros((parts, BINS))
    if years >= LEAST_YEARS:
        inside = (on >= days - years * DAYS_A_YEAR) & (on < days)
        time = np.mod(on[inside] + 0.5, DAYS_A_YEAR) / DAYS_A_YEAR
        np.add.at(counts, (of[inside], np.minimum((time * BINS).astype(np.int64), BINS - 1)), 1.0)
    middles = (np.arange(BINS) + 0.5) / BINS * DAYS_A_YEAR
    return Season(fit_shape(counts, np.ones_like(counts), _wave(middles)), float(days))


def _wave(day: Floats) -> Floats:
    angle = 2.0 * np.pi * np.asarray(day) / DAYS_A_YEAR
    return np.stack([np.cos(angle), np.sin(angle)], axis=-1)
