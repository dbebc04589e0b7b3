"""Weibull fits: published numbers, delayed entry, groups and the edges."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from scipy import optimize

from pipeline.estimators.curves import Entries
from pipeline.estimators.weibull import fit_weibull, shape_words, weibayes


def fit_one(time, failed, entry=None, **options):
    time, failed = np.asarray(time), np.asarray(failed)
    if entry is not None:
        options["entries"] = Entries(np.zeros(len(time), dtype=int), entry, np.ones(len(time), dtype=int))
    return fit_weibull(np.zeros(len(time), dtype=int), time, failed, 1 - failed, groups=1, **options)


def standard_errors(fit):
    z = 1.959963985
    return fit.shape * np.log(fit.shape_high / fit.shape) / z, fit.scale * np.log(
        fit.scale_high / fit.scale
    ) / z


def test_nist_failures_and_units_still_running(reference):
    # NIST/SEMATECH e-Handbook 8.4.1.3: read in two public test files that quote it; rtol 1e-5, as optimisers
    # differ.
    data = reference("weibull_nist_8_4_1")
    fit = fit_one(data["hours"], data["failed"].astype(int))
    assert_allclose((fit.shape[0], fit.scale[0]), (1.7207, 606.5280), rtol=1e-4)
    assert_allclose(fit.scale, 606.5280, rtol=1e-5)
    assert_allclose(fit.log_likelihood, -75.135, atol=5e-4)
    assert_allclose(2 * 2 - 2 * fit.log_likelihood, 154.27, atol=5e-3)
    # Recomputed (own Nelder-Mead, lifelines).
    assert_allclose((fit.shape[0], fit.scale[0]), (1.720797, 606.5276), rtol=1e-6)
    assert_allclose(fit.log_likelihood, -75.134618, atol=5e-7)
    assert_allclose(np.ravel(standard_errors(fit)), (0.502151, 124.911), rtol=2e-5)


def test_ball_bearings(reference):
    # Lieblein & Zelen (1956); estimate in the surpyval data set documentation (also Lawless): read.
    time = reference("ball_bearings_lz1956")["mrev"]
    fit = fit_one(time, np.ones(23, dtype=int))
    assert_allclose((fit.scale[0], fit.shape[0]), (81.875, 2.102), atol=5e-4)
    # Recomputed; standard errors by lifelines.
    assert_allclose((fit.shape[0], fit.scale[0]), (2.101847, 81.874559), atol=5e-6)
    assert_allclose(fit.log_likelihood, -113.691959, atol=5e-7)
    assert_allclose(np.ravel(standard_errors(fit)), (0.328657, 8.60092), rtol=1e-5)


def test_bearings_seen_only_after_their_first_forty_million_turns(reference):
    # Recomputed: own, lifelines (entry=) and surpyval (tl=) agree to six digits.
    time = reference("ball_bearings_lz1956")["mrev"]
    time = time[time > 40]
    fit = fit_one(time, np.ones(20, dtype=int), entry=np.full(20, 40.0))
    assert_allclose((fit.shape[0], fit.scale[0]), (1.310210, 55.33030), rtol=1e-6)
    assert_allclose(fit.log_likelihood, -93.172739, atol=5e-7)


def test_weibayes_with_and_without_failures():
    # Computed apart, with SciPy 1.17: shape 2.
    times = [1, 2, 2.5, 3, 3, 4, 4, 5]
    assert_allclose(weibayes(times, 3, 2).value, 5.362, atol=5e-4)
    none = weibayes(times, 0, 2, level=0.90)
    assert_allclose(none.low, 5.366, atol=5e-4)
    assert (none.value, none.high) == (np.inf, np.inf)


def log_likelihood(logs, time, failed, entry):
    shape, scale = np.exp(logs)
    hazard = failed * (np.log(shape / scale) + (shape - 1) * np.log(time / scale))
    return (hazard - (time / scale) ** shape + (entry / scale) ** shape).sum()


@pytest.mark.parametrize("seed", range(8))
def test_the_fit_is_the_top_of_the_likelihood(seed):
    rng = np.random.default_rng(seed)
    life = rng.weibull(rng.choice([0.6, 1, 2.5]), 300) * 100
    entry = rng.uniform(0, 60, 300) * (seed % 2)
    last = entry + rng.uniform(1, 200, 300)
    seen = life > entry
    time, failed, entry = np.minimum(life, last)[seen], (life <= last)[seen].astype(int), entry[seen]
    fit = fit_one(time, failed, entry)
    best = optimize.minimize(
        lambda logs: -log_likelihood(logs, time, failed, entry),
        [0, np.log(100)],
        method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-12},
    )
    assert fit.is_fitted
    assert_allclose((fit.shape[0], fit.scale[0]), np.exp(best.x), rtol=1e-6)
    assert_allclose(fit.log_likelihood, -best.fun, rtol=1e-10)


@given(
    st.lists(st.tuples(st.floats(0.5, 1000), st.integers(0, 1)), min_size=2, max_size=40),
    st.floats(0.01, 100),
)
def test_shape_does_not_know_the_unit_of_time(lives, unit):
    time, failed = np.array(lives).T
    one, other = fit_one(time, failed.astype(int)), fit_one(time * unit, failed.astype(int))
    assert one.is_fitted == other.is_fitted
    if one.is_fitted:
        assert_allclose(other.shape, one.shape, rtol=1e-6)
        assert_allclose(other.scale, one.scale * unit, rtol=1e-6)
        assert one.shape_low <= one.shape <= one.shape_high
        assert one.scale_low <= one.scale <= one.scale_high


def test_groups_do_not_touch_each_other():
    rng = np.random.default_rng(6)
    group = rng.integers(0, 50, 4000)
    time = rng.weibull(1 + group / 25) * (10 + group)
    failed = rng.integers(0, 2, 4000)
    together = fit_weibull(group, time, failed, 1 - failed, groups=51)
    for number in range(0, 50, 7):
        own = group == number
        alone = fit_one(time[own], failed[own])
        assert_allclose([column[number] for column in together], np.ravel(np.array(alone)), rtol=1e-9)
    assert not together.is_fitted[50]


def test_counted_cells_are_lives_one_by_one():
    cells = fit_weibull([0, 0, 0], [3.5, 8.5, 20.5], [4, 2, 0], [1, 0, 7], groups=1)
    lives = fit_one(np.repeat([3.5, 8.5, 20.5], [5, 2, 7]), np.array([1] * 4 + [0] + [1] * 2 + [0] * 7))
    assert_allclose(np.ravel(np.array(cells)), np.ravel(np.array(lives)), rtol=1e-10)


@pytest.mark.parametrize(
    ("time", "failed"),
    [([5.0, 7.0], [0, 0]), ([5.0, 5.0], [1, 1]), ([2.0, 5.0], [0, 1]), ([], [])],
)
def test_where_there_is_no_answer_it_says_so(time, failed):
    fit = fit_one(np.array(time), np.array(failed, dtype=int))
    assert not fit.is_fitted
    assert_array_equal(np.ravel([fit.shape, fit.shape_low, fit.shape_high]), [np.inf, 0, np.inf])
    assert_array_equal(np.ravel([fit.scale, fit.scale_low, fit.scale_high]), [np.inf, 0, np.inf])
    assert shape_words(fit) == [None]


def test_a_truncated_likelihood_without_a_top_is_not_fitted():
    # Each failed at once after its entry, at ages spread evenly on the logarithm: no shape is small enough.
    entry = np.array([1.0, 10.0, 100.0, 1000.0])
    fit = fit_one(entry * 1.0001, np.ones(4, dtype=int), entry)
    assert not fit.is_fitted
    assert np.isinf(fit.shape)


def test_words_follow_the_interval_and_need_ten_failures():
    rng = np.random.default_rng(1)
    lives = [rng.weibull(shape, 400) for shape in (0.5, 1, 3)] + [rng.weibull(3, 9)]
    group = np.repeat([0, 1, 2, 3], [400, 400, 400, 9])
    time = np.concatenate(lives)
    fit = fit_weibull(group, time, np.ones(len(time), dtype=int), np.zeros(len(time), dtype=int), groups=4)
    assert shape_words(fit) == ["early trouble", "cannot tell from random", "wear", None]


def test_limits_hold_the_true_shape():
    # 1,000 groups of 40 lives, half of them censored.
    rng = np.random.default_rng(2)
    group, life = np.repeat(np.arange(1000), 40), rng.weibull(1.5, 40_000)
    last = rng.uniform(0, 1.8, 40_000)
    failed = (life <= last).astype(int)
    fit = fit_weibull(group, np.minimum(life, last), failed, 1 - failed, groups=1000)
    assert fit.is_fitted.all()
    held = (fit.shape_low <= 1.5) & (fit.shape_high >= 1.5)
    assert 0.92 <= held.mean() <= 0.985


@pytest.mark.parametrize(
    ("time", "failed", "words"),
    [([0.0, 1.0], [1, 0], "time must be above 0"), ([1.0], [-1], "events must be at least 0")],
)
def test_what_cannot_be_is_refused_by_name(time, failed, words):
    with pytest.raises(ValueError, match=words):
        fit_weibull([0] * len(time), time, failed, [0] * len(time), groups=1)
    with pytest.raises(ValueError, match="shape must be above 0"):
        weibayes([1], 1, 0)
