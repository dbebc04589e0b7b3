"""Were like jobs compared with like: shares of what is held alike, on both sides."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.compared import imbalance
from pipeline.measures.comparable_jobs import ALIKE, CLEANED, REPLACED


def balance_rows(
    side: NDArray[np.int64], jobs: pl.DataFrame, weight: NDArray[np.float64]
) -> list[dict[str, Any]]:
    """One row per thing held alike and its level: share of cleaned and of replaced jobs, and their standardised difference."""
    rows = []
    for name in ALIKE:
        levels = jobs[name].fill_null("not recorded")
        words = sorted(levels.unique().to_list())
        has = np.column_stack([(levels == word).to_numpy() for word in words]).astype(np.float64)
        shares = [weight[side == s] @ has[side == s] / weight[side == s].sum() for s in (CLEANED, REPLACED)]
        apart = imbalance(side, has, weight)
        rows += [
            {"what": name, "level": word, "cleaned": float(c), "replaced": float(r), "difference": float(d)}
            for word, c, r, d in zip(words, *shares, apart, strict=True)
        ]
    return rows


def largest_imbalance(side: NDArray[np.int64], jobs: pl.DataFrame, weight: NDArray[np.float64]) -> float:
    """The largest standardised difference of all that is held alike."""
    return max((abs(row["difference"]) for row in balance_rows(side, jobs, weight)), default=0.0)
