"""Intervals for rates and their ratio: published numbers, limits and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy import stats

from pipeline.estimators.rates import UnitSums, exact_rate, rate_ratio, score_rate, unit_rate


def sums_of(d, t):
    d, t = np.asarray(d), np.asarray(t, dtype=float)
    return UnitSums(d.sum(), t.sum(), (d * d).sum(), (d * t).sum(), (t * t).sum(), len(d))


def test_nist_mtbf_bounds():
    # NIST/SEMATECH e-Handbook 8.4.5.1, 800 hours, 2 failures, 90 %: bounds read (quoted R listing).
    value, low, high = exact_rate(2, 800, level=0.90)
    assert_allclose((1 / value, 1 / high, 1 / low), (400, 127.0690, 2251.229), rtol=5e-7)
    # Factors on the MTBF: memory.
    assert_allclose((1 / high / 400, 1 / low / 400), (0.3177, 5.6281), atol=5e-5)


def test_garwoods_limits():
    # Garwood (1936), Biometrika 28, 437, tables: memory.
    low, high = exact_rate([10, 0], 1)[1:]
    assert_allclose((low, high), [[4.80, 0], [18.39, 3.689]], atol=5e-3)
    # Recomputed.
    assert_allclose((low[0], high[0], high[1]), (4.795389, 18.390356, 3.688879), atol=5e-7)


@pytest.mark.parametrize("exposure", [1, 60, 1234.5])
def test_zero_failures_bound_the_mtbf_from_below(exposure):
    # NIST/SEMATECH e-Handbook 8.4.5.1: T / (-ln alpha), read.
    upper = exact_rate(0, exposure, level=0.90).high
    assert_allclose(1 / upper, exposure / -np.log(0.05), rtol=1e-12)


def test_rates_of_machine_years():
    # Computed apart, with SciPy 1.17; no published number.
    value, low, high = exact_rate([0, 7, 24], [60, 120, 310])
    assert_allclose(value, [0, 0.0583, 0.0774], atol=5e-5)
    assert_allclose(low, [0, 0.02345, 0.0496], atol=5e-6)
    assert_allclose(high, [0.06148, 0.12019, 0.11519], atol=5e-6)
    assert_allclose(exact_rate(0, 60, level=0.90).high, 0.0499, atol=5e-5)


def test_ratio_of_two_rates():
    # Computed apart, with SciPy 1.17; no published number.
    assert_allclose(rate_ratio(9, 60, 12, 240), (3.00, 1.116, 7.758, 0.0288), atol=5e-4)


def test_score_limits_solve_their_equation():
    value, low, high = score_rate([1, 9, 400], [3.0, 50.0, 1000.0])
    for limit in (low, high):
        z = (value - limit) / np.sqrt(limit / np.array([3.0, 50.0, 1000.0]))
        assert_allclose(np.abs(z), stats.norm.ppf(0.975), rtol=1e-9)


@given(st.integers(0, 10_000), st.floats(1e-3, 1e6), st.floats(0.5, 0.999))
def test_rate_lies_within_its_limits(events, exposure, level):
    for value, low, high in (exact_rate(events, exposure, level), score_rate(events, exposure, level)):
        assert 0 <= low <= value <= high < np.inf


@given(st.integers(0, 1000), st.floats(0.1, 1e4), st.floats(0.01, 100))
def test_rate_changes_with_the_unit_of_time_only(events, exposure, unit):
    assert_allclose(
        np.array(exact_rate(events, exposure)),
        np.array(exact_rate(events, exposure * unit)) * unit,
        rtol=1e-9,
    )


def test_more_events_move_both_limits_up():
    _, low, high = exact_rate(np.arange(100), 7)
    assert (np.diff(low) > 0).all()
    assert (np.diff(high) > 0).all()


@given(st.integers(0, 60), st.floats(0.1, 100), st.integers(0, 60), st.floats(0.1, 100))
def test_the_ratio_p_agrees_with_its_interval(d1, t1, d2, t2):
    _, low, high, p = rate_ratio(d1, t1, d2, t2)
    if abs(p - 0.05) > 1e-9:
        assert (p < 0.05) == (low > 1 or high < 1)


@given(st.integers(1, 60), st.floats(0.1, 100), st.integers(1, 60), st.floats(0.1, 100))
def test_the_ratio_turns_over_with_its_order(d1, t1, d2, t2):
    forth, back = rate_ratio(d1, t1, d2, t2), rate_ratio(d2, t2, d1, t1)
    assert_allclose(
        (forth.value, forth.low, forth.high, forth.p), (1 / back.value, 1 / back.high, 1 / back.low, back.p)
    )


def test_without_exposure_nothing_is_known():
    for rate in (exact_rate([0, 3], [0, 0]), score_rate([0, 3], [0, 0])):
        assert_allclose(rate, [[np.inf] * 2, [0, 0], [np.inf] * 2])
    assert_allclose(unit_rate(UnitSums(0, 0, 0, 0, 0, 0)), [np.inf, 0, np.inf, 0, 0])


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ((0, 1, 0, 1), (np.inf, 0, np.inf, 1)),
        ((3, 0, 2, 1), (np.inf, 0, np.inf, 1)),
        ((0, 1, 0, 0), (np.inf, 0, np.inf, 1)),
    ],
)
def test_a_ratio_without_information_is_open_at_both_ends(counts, expected):
    assert_allclose(rate_ratio(*counts), expected)


def test_a_ratio_to_no_events_has_a_lower_limit_only():
    value, low, high, p = rate_ratio(8, 1, 0, 1)
    assert (value, high) == (np.inf, np.inf)
    assert low > 1
    assert p < 0.05


def test_interval_is_exact_while_no_unit_failed_twice():
    sums = sums_of([1] * 15 + [0] * 85, np.ones(100))
    assert not unit_rate(sums).is_robust
    assert_allclose(unit_rate(sums)[:3], exact_rate(15, 100))


def test_interval_is_exact_below_ten_events():
    assert not unit_rate(sums_of([9, 0, 0], [1, 1, 1])).is_robust
    assert unit_rate(sums_of([9, 1, 0], [1, 1, 1])).is_robust


@pytest.mark.parametrize("d", [[20], [5, 5, 5]])
def test_one_unit_or_equal_units_leave_the_exact_interval(d):
    result = unit_rate(sums_of(d, np.ones(len(d)) * 0.1))
    assert not result.is_robust
    assert_allclose(result[:3], exact_rate(sum(d), 0.1 * len(d)))


def test_five_sums_give_the_same_variance_as_the_units():
    rng = np.random.default_rng(5)
    d, t = rng.poisson(2, 40), rng.uniform(0.5, 3, 40)
    rate = d.sum() / t.sum()
    robust = ((d - rate * t) ** 2).sum() * 40 / 39
    result = unit_rate(sums_of(d, t))
    assert_allclose(result.variance_ratio, robust / d.sum(), rtol=1e-10)
    factor = np.exp(stats.t.ppf(0.975, 39) * np.sqrt(robust) / d.sum())
    assert_allclose(result[:3], (rate, rate / factor, rate * factor), rtol=1e-10)


def test_units_that_fail_in_series_widen_the_interval():
    lumped, spread = unit_rate(sums_of([10] * 4 + [0] * 96, np.ones(100))), exact_rate(40, 100)
    assert lumped.variance_ratio > 8
    assert lumped.low < spread.low
    assert lumped.high > spread.high


def test_groups_do_not_touch_each_other():
    parts = [sums_of([3, 0, 9], [1, 2, 3]), sums_of([1, 0], [1, 1]), sums_of([], [])]
    together = unit_rate(UnitSums(*(np.array(column) for column in zip(*parts, strict=True))))
    for number, part in enumerate(parts):
        assert_allclose([column[number] for column in together], np.array(unit_rate(part), dtype=float))


@pytest.mark.parametrize(
    ("events", "exposure", "words"),
    [
        (1.5, 1, "events must be whole, but was 1.5"),
        (-1, 1, "events must be at least 0, but was -1"),
        (1, -1, "exposure must be at least 0, but was -1"),
        (1, np.inf, "exposure must be finite, but was inf"),
    ],
)
def test_what_cannot_be_is_refused_by_name(events, exposure, words):
    with pytest.raises(ValueError, match=words):
        exact_rate(events, exposure)
