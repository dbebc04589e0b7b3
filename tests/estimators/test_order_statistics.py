"""Limits of a quantile by order statistics: a published position, and coverage on drawn values."""

import numpy as np
import pytest

from pipeline.estimators.order_statistics import quantile


def test_limits_of_a_median_are_the_published_positions():
    # n = 20: the 6th and 15th value, coverage 0.9586 (tables of the sign test; from memory, recomputed by the binomial).
    found = quantile(np.arange(1, 21), 0.5)
    assert (found.value, found.low, found.high) == (10.5, 6, 15)


@pytest.mark.parametrize(("n", "share"), [(20, 0.5), (30, 0.8), (100, 0.8)])
def test_limits_hold_the_truth(n, share):
    rng = np.random.default_rng(5)
    truth = np.quantile(np.exp(rng.normal(size=2_000_000)), share)
    drawn = np.exp(rng.normal(size=(2000, n)))
    held = np.mean([low <= truth <= high for _, low, high in (quantile(x, share) for x in drawn)])
    assert held > 0.94


def test_nothing_and_nonsense_are_refused():
    with pytest.raises(ValueError, match="needs values"):
        quantile([], 0.5)
    with pytest.raises(ValueError, match="share"):
        quantile([1.0], 1.0)
