"""Groups against all the others: few are flagged by chance, large differences are found, order does not matter."""

import numpy as np
import pytest
from scipy import stats

from pipeline.estimators.standing_out import bands_against_others, means_above


def bands(hits, of, followed=None):
    n = np.asarray(of, dtype=float)
    return bands_against_others(np.asarray(hits) / n, n, n, [True] * len(n) if followed is None else followed)


def test_a_group_far_above_the_others_is_worse_and_far_below_is_better():
    found = bands([30, 10, 11, 9, 0], [100, 100, 100, 100, 100])
    assert list(found.band) == ["worse", "cannot tell", "cannot tell", "cannot tell", "better"]


def test_p_values_are_those_of_the_exact_test_with_half_the_weight_of_what_was_seen():
    found = bands([12, 4], [40, 60])
    law = stats.hypergeom(100, 16, 40)
    expected = 2 * (law.sf(12) + law.pmf(12) / 2)
    assert found.adjusted_p == pytest.approx([expected, expected])


def test_fewer_than_20_on_a_side_cannot_tell():
    assert list(bands([15, 5], [19, 100]).band) == ["cannot tell", "cannot tell"]


def test_a_group_not_followed_long_enough_is_neither_judged_nor_a_reference():
    without = bands([30, 10, 10], [100, 100, 100])
    found = bands([30, 10, 10, 90], [100, 100, 100, 100], [True, True, True, False])
    assert list(found.band) == [*without.band, "cannot tell"]
    assert found.adjusted_p[:3] == pytest.approx(without.adjusted_p)


def test_order_of_the_groups_does_not_matter():
    hits, of = np.array([30, 10, 3, 25, 7]), np.array([100, 90, 80, 120, 30])
    turned = np.array([4, 2, 0, 3, 1])
    assert list(bands(hits, of).band[turned]) == list(bands(hits[turned], of[turned]).band)


def test_where_nothing_differs_hardly_any_answer_flags_a_group():
    rng = np.random.default_rng(7)
    flagged = sum(
        (bands(rng.binomial(60, 0.12, size=25), [60] * 25).band != "cannot tell").any() for _ in range(400)
    )
    assert flagged / 400 <= 0.07


def test_of_many_equal_means_few_are_told_as_longer():
    # 600 shops of 30 faults with the same law of times: at most one in twenty may name any.
    rng = np.random.default_rng(8)
    named = 0
    for _ in range(600):
        logs = rng.normal(3.7, 0.6, (30, 60))
        times = np.exp(logs)
        mean, se = times.mean(axis=1), times.std(axis=1, ddof=1) / np.sqrt(60)
        all_of_them, its_se = times.mean(), times.std(ddof=1) / np.sqrt(times.size)
        low = mean * np.exp(-1.96 * se / mean)
        named += means_above(
            mean, low, (all_of_them, all_of_them * np.exp(1.96 * its_se / all_of_them))
        ).any()
    assert named / 600 <= 0.065


def test_a_mean_that_is_longer_is_told_and_more_looked_at_take_more_to_tell():
    # z = 1.959964 * ln(60 / 48) / hypot(ln(60 / 52), ln(50 / 48)) = 2.9390; one-sided p 0.00165.
    assert means_above([60.0], [52.0], (48.0, 50.0)).tolist() == [True]
    many = means_above([60.0, *[48.0] * 40], [52.0, *[45.0] * 40], (48.0, 50.0))
    assert not many.any()
    assert not means_above([0.0, 30.0], [0.0, 0.0], (0.0, 0.0)).any()
    assert means_above([], [], (48.0, 50.0)).size == 0
