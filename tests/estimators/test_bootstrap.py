"""Bootstrap by unit: seeds, limits known without it, clusters and the edges."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy import stats

from pipeline.estimators.bootstrap import bootstrap_by_unit, bootstrap_t_mean, unit_weights


def singles(times):
    return bootstrap_t_mean(np.zeros(len(times), dtype=int), times, np.ones(len(times)), groups=1)


def share(sums):
    return sums[:, 0] / sums[:, 1]


def test_limits_of_normal_values_are_near_students():
    times = stats.norm.ppf((np.arange(200) + 0.5) / 200, 50, 8)
    student = stats.t.interval(0.95, 199, times.mean(), times.std(ddof=1) / np.sqrt(200))
    result = singles(times)
    assert_allclose(result.value, times.mean())
    assert_allclose((result.low[0], result.high[0]), student, atol=0.15)


def test_limits_of_skewed_times_reach_further_up_than_down():
    times = stats.lognorm.ppf((np.arange(60) + 0.5) / 60, 1, scale=20)
    value, low, high = singles(times)
    assert high - value > 1.3 * (value - low)


def test_bootstrap_t_holds_a_skewed_mean_where_the_plain_one_fails():
    # 400 samples of 30 log-normal times, s = 1: the nominal 95 % interval must hold the mean in 92 to 98.5 %.
    rng = np.random.default_rng(3)
    times = rng.lognormal(0, 1, (400, 30))
    result = bootstrap_t_mean(np.repeat(np.arange(400), 30), times.ravel(), np.ones(12_000), groups=400)
    truth = np.exp(0.5)
    held = ((result.low <= truth) & (truth <= result.high)).mean()
    half = 1.96 * times.std(axis=1, ddof=1) / np.sqrt(30)
    assert 0.92 <= held <= 0.985
    assert held > (np.abs(times.mean(axis=1) - truth) <= half).mean()


def test_same_seed_same_limits_whatever_the_other_groups():
    rng = np.random.default_rng(4)
    times = rng.lognormal(3, 1, 90)
    group = np.repeat([0, 1, 2], 30)
    together = bootstrap_t_mean(group, times, np.ones(90), groups=3)
    first_only = bootstrap_t_mean(group[:30], times[:30], np.ones(30), groups=3)
    assert_array_equal([column[0] for column in together], [column[0] for column in first_only])
    assert singles(times).low != bootstrap_t_mean(0 * group, times, np.ones(90), groups=1, seed=1).low


def test_the_order_of_units_in_other_groups_does_not_matter():
    rng = np.random.default_rng(4)
    times, group = rng.lognormal(3, 1, 60), np.tile([0, 1], 30)
    order = np.argsort(group, kind="stable")
    mixed = bootstrap_t_mean(group, times, np.ones(60), groups=2)
    sorted_ = bootstrap_t_mean(group[order], times[order], np.ones(60), groups=2)
    assert_array_equal(np.array(mixed), np.array(sorted_))


def test_units_with_many_like_jobs_widen_the_interval():
    rng = np.random.default_rng(5)
    level = rng.lognormal(3, 0.6, 40)
    as_units = bootstrap_t_mean(np.zeros(40, dtype=int), level * 10, np.full(40, 10.0), groups=1)
    as_jobs = singles(np.repeat(level, 10))
    assert_allclose(as_units.value, as_jobs.value)
    assert as_units.high - as_units.low > 2.5 * (as_jobs.high - as_jobs.low)


@pytest.mark.parametrize(
    ("times", "expected"),
    [([7.0], (7, -np.inf, np.inf)), ([], (0, -np.inf, np.inf)), ([4.0] * 30, (4, 4, 4))],
)
def test_one_unit_none_and_equal_units_have_an_answer(times, expected):
    assert_allclose(np.array(singles(times)).ravel(), expected)


def test_two_units_do_not_pretend_to_know():
    _, low, high = singles([10.0, 20.0])
    assert (low[0], high[0]) == (-np.inf, np.inf)


def test_a_composed_figure_agrees_with_its_known_spread():
    # A mean of 400: the percentile interval is near the normal one.
    rng = np.random.default_rng(6)
    values = rng.normal(5, 2, 400)
    result = bootstrap_by_unit(np.column_stack([values, np.ones(400)]), share)
    half = 1.96 * values.std() / 20
    assert_allclose(
        (result.value, result.low, result.high), values.mean() + half * np.array([0, -1, 1]), atol=0.03
    )


def test_a_composed_figure_that_breaks_in_a_resample_is_refused():
    columns = np.array([[1.0, 1.0], [3.0, 0.0], [2.0, 0.0]])
    with (
        pytest.raises(ValueError, match="the figure of every resample must be finite"),
        np.errstate(divide="ignore"),
    ):
        bootstrap_by_unit(columns, share)


def test_one_unit_gives_a_composed_figure_without_limits():
    assert bootstrap_by_unit([[6.0, 2.0]], share) == (3, -np.inf, np.inf)


def test_weights_draw_as_many_units_as_there_are():
    blocks = list(unit_weights(5000, resamples=1000))
    assert len(blocks) > 1
    weights = np.concatenate(blocks)
    assert weights.shape == (1000, 5000)
    assert (weights.sum(axis=1) == 5000).all()
    assert_allclose(weights.var(), 1, rtol=0.01)


@pytest.mark.parametrize(
    ("count", "words"),
    [([1.0, 0.0], "count must be above 0, but was 0"), ([1.0], "count must be as long as group")],
)
def test_what_cannot_be_is_refused_by_name(count, words):
    with pytest.raises(ValueError, match=words):
        bootstrap_t_mean([0, 0], [1.0, 2.0], count, groups=1)


def test_units_that_are_alike_may_be_drawn_by_kind():
    """2,000 units of 40 kinds drawn by kind; each moved by too little to matter, so that all differ, drawn one by one."""
    rng = np.random.default_rng(5)
    total = rng.choice(np.round(rng.lognormal(3.5, 0.8, 40)), 2_000)
    apart = total + np.arange(2_000) * 1e-9
    found = [
        bootstrap_t_mean(np.zeros(2_000, int), each, np.ones(2_000), groups=1, resamples=20_000)
        for each in (total, apart)
    ]
    width = found[1].high[0] - found[1].low[0]
    assert found[0].value == pytest.approx(found[1].value)
    assert found[0].low[0] == pytest.approx(found[1].low[0], abs=0.03 * width)
    assert found[0].high[0] == pytest.approx(found[1].high[0], abs=0.03 * width)
