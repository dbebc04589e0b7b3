"""Funnel limits and over-dispersion against published values."""

import numpy as np
import pytest

from pipeline.estimators.funnel import funnel_limits, overdispersion, z_scores


def test_published_limits():
    # From a test of the R package FunnelPlotR, target 1; recomputed as chi2(q, 2E)/2/E and chi2(1-q, 2E+2)/2/E.
    low, high = funnel_limits([15, 20, 30], 0.025)
    assert low == pytest.approx([0.559692409, 0.610825979, 0.674695801], abs=1e-9)
    assert high == pytest.approx([1.649347925, 1.544418895, 1.427562180], abs=1e-9)
    low, high = funnel_limits([15, 20, 30], 0.001)
    assert low == pytest.approx([0.386265035, 0.447910663, 0.528972360], abs=1e-9)
    assert high == pytest.approx([2.082907302, 1.902094067, 1.702770806], abs=1e-9)


# Six units of the tests of the same package; z and phi recomputed (quantiles by linear interpolation).
OBSERVED = np.array([100.0, 150.0, 180.0, 80.0, 120.0, 225.0])
EXPECTED = np.array([108.0, 112.0, 165.0, 95.0, 100.0, 220.0])


def test_z_scores_of_six_units():
    expected = [-0.784610, 3.328887, 1.142351, -1.605045, 1.908902, 0.335206]
    assert z_scores(OBSERVED, EXPECTED) == pytest.approx(expected, abs=5e-7)


def test_overdispersion_of_six_units():
    z = z_scores(OBSERVED, EXPECTED)
    assert overdispersion(z, 0) == pytest.approx(3.222418, abs=5e-7)
    assert overdispersion(z) == pytest.approx(2.327178, abs=5e-7)
    # The same with z = (O - E) / sqrt(E): recomputed.
    plain = (OBSERVED - EXPECTED) / np.sqrt(EXPECTED)
    assert (overdispersion(plain, 0), overdispersion(plain)) == pytest.approx((3.555190, 2.536057), abs=1e-6)


def test_groups_that_differ_by_chance_alone_have_no_overdispersion():
    rng = np.random.default_rng(1)
    expected = np.full(4000, 40.0)
    assert overdispersion(z_scores(rng.poisson(expected), expected), 0) == pytest.approx(1, abs=0.05)


def test_no_group_says_nothing():
    assert overdispersion([]) == 1
