"""Intervals for proportions: published numbers, limits and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from pipeline.estimators.proportions import clopper_pearson, jeffreys, newcombe_difference, wilson

INTERVALS = [wilson, clopper_pearson, jeffreys]


@st.composite
def counts(draw):
    n = draw(st.integers(1, 5000))
    return draw(st.integers(0, n)), n


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    # Newcombe (1998), Stat. Med. 17, 857, table I: memory.
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605)],
)
def test_wilson_gives_newcombes_published_limits(x, n, low, high):
    assert_allclose(wilson(x, n), (low, high), atol=5e-5)


@pytest.mark.parametrize(
    ("x", "n", "low", "high"),
    # Newcombe (1998), table I: memory.
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617)],
)
def test_clopper_pearson_gives_newcombes_published_limits(x, n, low, high):
    assert_allclose(clopper_pearson(x, n), (low, high), atol=5e-5)


def test_limits_agree_with_a_second_library_to_six_digits():
    # Recomputed with statsmodels 0.15.0, proportion_confint.
    assert_allclose(wilson([81, 15], [263, 148]), [[0.255289, 0.062386], [0.366210, 0.160487]], atol=5e-7)
    assert_allclose(
        clopper_pearson([81, 15], [263, 148]), [[0.252737, 0.057844], [0.367622, 0.161650]], atol=5e-7
    )


def test_limits_of_small_samples():
    # Computed apart, with SciPy 1.17; no published number.
    assert_allclose(
        wilson([0, 3, 7, 18], [12, 40, 20, 25]),
        [[0, 0.0258, 0.1812, 0.5242], [0.2425, 0.1986, 0.5671, 0.8572]],
        atol=5e-5,
    )
    assert_allclose(
        clopper_pearson([0, 3, 18], [12, 40, 25]), [[0, 0.0157, 0.5061], [0.2646, 0.2039, 0.8793]], atol=5e-5
    )
    assert_allclose(jeffreys([3, 18], [40, 25]), [[0.0216, 0.5272], [0.1868, 0.8651]], atol=5e-5)


def test_nothing_in_60_has_an_upper_bound_near_the_rule_of_three():
    # One-sided 95 %: 1 - 0.05 ** (1 / 60) = 0.0487, by the rule of three 0.05.
    bound = clopper_pearson(0, 60, level=0.90).high
    assert_allclose(bound, 1 - 0.05 ** (1 / 60), rtol=1e-12)
    assert_allclose(bound, 0.0487, atol=5e-5)


def test_newcombes_difference_of_two_proportions():
    # Newcombe (1998), Stat. Med. 17, 873, table II, method 10, 56/70 against 48/80: memory.
    parts = [(x / n, *wilson(x, n)) for x, n in ((56, 70), (48, 80))]
    assert_allclose(newcombe_difference(*parts), (0.2, 0.0524, 0.3339), atol=5e-5)


@pytest.mark.parametrize("interval", INTERVALS)
@given(counts(), st.floats(0.5, 0.999))
def test_interval_holds_the_share_and_stays_within_0_and_1(interval, count, level):
    x, n = count
    low, high = interval(x, n, level)
    assert 0 <= low <= x / n + 1e-12
    assert x / n - 1e-12 <= high <= 1


@pytest.mark.parametrize("interval", INTERVALS)
@given(counts())
def test_interval_of_failures_mirrors_that_of_successes(interval, count):
    x, n = count
    low, high = interval(x, n)
    mirrored = interval(n - x, n)
    assert_allclose((low, high), (1 - mirrored.high, 1 - mirrored.low), atol=1e-10)


@pytest.mark.parametrize("interval", INTERVALS)
def test_more_successes_move_both_limits_up(interval):
    low, high = interval(np.arange(51), 50)
    assert (np.diff(low) > 0).all()
    assert (np.diff(high[:-1]) > 0).all()


@pytest.mark.parametrize("interval", INTERVALS)
@given(counts(), st.floats(0.5, 0.9), st.floats(0.9, 0.999))
def test_a_higher_level_is_never_narrower(interval, count, lower, higher):
    narrow, wide = interval(*count, lower), interval(*count, higher)
    assert wide.low <= narrow.low + 1e-12
    assert wide.high >= narrow.high - 1e-12


@given(st.floats(0.01, 1e6), st.floats(0, 1))
def test_wilson_takes_sizes_that_are_not_whole(n_eff, share):
    low, high = wilson(n_eff * share, n_eff)
    assert 0 <= low <= share + 1e-9
    assert share - 1e-9 <= high <= 1


@pytest.mark.parametrize("interval", INTERVALS)
def test_edges_are_exact_and_no_trials_say_nothing(interval):
    low, high = interval([0, 7, 0], [7, 7, 0])
    assert (low[0], high[1], low[2], high[2]) == (0, 1, 0, 1)
    assert 0 < high[0] < 1
    assert 0 < low[1] < 1


@given(counts(), counts())
def test_a_difference_changes_sign_with_its_order(first, second):
    one, two = ((x / n, *wilson(x, n)) for x, n in (first, second))
    forth, back = newcombe_difference(one, two), newcombe_difference(two, one)
    assert_allclose((forth.value, forth.low, forth.high), (-back.value, -back.high, -back.low), atol=1e-12)
    assert -1 - 1e-12 <= forth.low <= forth.value <= forth.high <= 1 + 1e-12


@pytest.mark.parametrize(
    ("x", "n", "level", "words"),
    [
        (5, 4, 0.95, "x must be at most n, but was 5 of 4"),
        (-1, 4, 0.95, "x must be at least 0, but was -1"),
        (1, float("nan"), 0.95, "n must be finite, but was nan"),
        (1, 4, 95, "level must be between 0 and 1, but was 95"),
    ],
)
def test_what_cannot_be_is_refused_by_name(x, n, level, words):
    for interval in INTERVALS:
        with pytest.raises(ValueError, match=words):
            interval(x, n, level)


def test_a_difference_refuses_an_interval_without_its_value():
    with pytest.raises(ValueError, match="second must hold its value"):
        newcombe_difference((0.5, 0.4, 0.6), (0.7, 0.1, 0.2))
