"""A rate that follows something: found where it is, not found where it is not, flat where there is too little."""

import numpy as np
import pytest
from scipy.optimize import minimize

from pipeline.estimators.poisson_shape import LEAST_EVENTS, fit_shape

X = np.linspace(-1, 1, 12)[:, None]


def drawn(slope, mean, parts, seed=1, exposure=1.0):
    rng = np.random.default_rng(seed)
    return rng.poisson(mean * exposure * np.exp(slope * X[:, 0]), size=(parts, 12))


def test_slope_is_that_of_the_greatest_likelihood():
    rng = np.random.default_rng(2)
    exposure = rng.uniform(0.5, 3, (1, 12))
    counts = drawn(0.8, 30, 1, exposure=exposure[0])

    def loss(b):
        line = b[0] + b[1] * X[:, 0]
        return float((exposure * np.exp(line) - counts * line).sum())

    found = minimize(loss, [3.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    flat = minimize(lambda a: loss([a[0], 0.0]), [3.0], method="Nelder-Mead", options={"xatol": 1e-9})
    kept = 1 - 1 / (2 * (flat.fun - found.fun))  # Copas: what chance alone would give is taken off
    assert fit_shape(counts, exposure, X).slope[0, 0] == pytest.approx(found.x[1] * kept, rel=1e-4)


def test_flat_rates_are_hardly_ever_taken_for_a_shape():
    # The false discovery rate: of 400 families of 5 flat parts, one in twenty may show something.
    families = [fit_shape(drawn(0.0, 6, 5, seed), np.ones((5, 12)), X).is_shown.any() for seed in range(400)]
    assert np.mean(families) <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / 400)


def test_a_real_shape_is_shown_and_not_overstated():
    found = fit_shape(drawn(0.7, 8, 200), np.ones((200, 12)), X)
    assert found.is_shown.mean() > 0.9
    assert found.slope[found.is_shown].mean() == pytest.approx(0.7, abs=0.05)


def test_few_events_say_nothing():
    counts = np.zeros((1, 12))
    counts[0, -1] = LEAST_EVENTS - 1
    found = fit_shape(counts, np.ones((1, 12)), X)
    assert not found.is_shown[0]
    assert found.relative(X).tolist() == [[1.0] * 12]


def test_bins_without_exposure_count_for_nothing():
    counts = drawn(0.9, 30, 1).astype(float)
    exposure = np.ones((1, 12))
    exposure[0, 5:7] = 0
    wild = counts.copy()
    wild[0, 5:7] = 1000
    assert fit_shape(wild, exposure, X).slope == pytest.approx(fit_shape(counts, exposure, X).slope)
