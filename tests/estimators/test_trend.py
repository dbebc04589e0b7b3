"""Trend tests and the power law: published numbers, laws and edges."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.mcf import Happenings, Windows
from pipeline.estimators.power_law import fit_power_law, mtbf_at_end, power_law, unbiased_shape
from pipeline.estimators.trend import laplace, military_handbook, reversals

END = 1500


def duane(reference):
    hours = reference("duane_nist")["failure_hours"]
    return len(hours), hours, np.log(END / hours).sum()


def test_nist_growth_of_ten_failures_in_1500_hours(reference):
    # NIST/SEMATECH e-Handbook 8.4.5.2, R listing: read. beta_hat there is 1 - b.
    n, _, logs = duane(reference)
    shape = unbiased_shape(n, logs)
    assert_allclose(1 - shape, 0.516494, atol=5e-7)
    assert_allclose(n / END**shape, 0.2913003, atol=5e-7)
    assert_allclose(shape, 0.483506, atol=5e-7)
    assert_allclose(mtbf_at_end(n, logs, END), (310.234, 157.7138, 548.5566), rtol=1e-6)
    # Recomputed.
    assert_allclose(shape, 0.4835059794, atol=5e-11)
    assert_allclose(n / END**shape, 0.2913002686, atol=5e-11)
    assert_allclose(mtbf_at_end(n, logs, END).value, 310.2340124, atol=5e-8)


def test_nist_power_law_by_maximum_likelihood(reference):
    # Shape read in a test file that quotes it; rate and MTBF recomputed.
    n, hours, logs = duane(reference)
    law = power_law(n, logs, 1, END)
    assert_allclose(law.shape, 0.5372288660, atol=5e-11)
    assert_allclose(law.rate, 0.1966582157, atol=5e-11)
    assert_allclose(END / (n * law.shape), 279.210611, atol=5e-7)
    fit = fit_power_law(Windows([0], [0], [END]), Happenings([0] * n, hours), groups=1)
    assert_allclose((fit.shape[0], fit.rate[0], fit.scale[0]), (law.shape, law.rate, law.scale), rtol=1e-9)


def test_nist_trend_tests(reference):
    # NIST/SEMATECH e-Handbook 8.2.3.4: 37.23 is memory, the rest recomputed; its Laplace may have the other
    # sign.
    n, hours, logs = duane(reference)
    handbook = military_handbook(n, logs)
    assert_allclose(handbook.statistic, 37.23, atol=5e-3)
    assert_allclose((handbook.statistic, handbook.p_improving), (37.228081, 0.010986), atol=5e-7)
    test = laplace(n, (hours / END).sum())
    assert_allclose((test.statistic, test.p_improving), (-1.326949, 0.092263), atol=5e-7)


def test_nist_reversals(reference):
    # NIST/SEMATECH e-Handbook 8.2.3.4: R = 33 of 45 pairs, memory; two gaps of 35 hours are no reversal.
    _, hours, _ = duane(reference)
    assert reversals(np.diff(hours, prepend=0)).statistic == 33


@pytest.mark.parametrize("count", [1, 2, 5, 6])
def test_chance_of_reversals_is_their_share_of_all_orders(count):
    orders = np.array(list(itertools.permutations(range(count))))
    found = [reversals(order) for order in orders]
    each = np.array([test.statistic for test in found])
    assert_allclose([test.p_improving for test in found], [(each >= own).mean() for own in each], atol=1e-12)
    assert_allclose([test.p_worsening for test in found], [(each <= own).mean() for own in each], atol=1e-12)


def test_equal_gaps_and_no_gaps_show_no_trend():
    assert (reversals([7] * 5).statistic, reversals([7] * 5).p) == (0, 1)
    assert (reversals([]).statistic, reversals([]).p) == (0, 1)


def test_three_machines_to_one_age():
    # Computed apart, with SciPy 1.17: to age 5.
    times = np.array([0.5, 1.2, 3, 4.1, 2.2, 4.8, 3.9])
    law = power_law(7, np.log(5 / times).sum(), 3, 5)
    assert_allclose((law.shape, law.low, law.high), (1.2614, 0.507, 2.353), atol=5e-4)
    assert_allclose(law.rate, 0.3064, atol=5e-5)
    assert_allclose(unbiased_shape(7, np.log(5 / times).sum()), 1.081, atol=5e-4)
    fit = fit_power_law(
        Windows([0] * 3, [0] * 3, [5] * 3), Happenings([0, 0, 0, 0, 1, 1, 2], times), groups=1
    )
    assert_allclose((fit.shape[0], fit.rate[0]), (law.shape, law.rate), rtol=1e-9)


AGES = st.lists(st.floats(0.01, 0.99), min_size=1, max_size=40)


@given(AGES)
def test_mirrored_ages_turn_laplace_over(ages):
    forth, back = laplace(len(ages), sum(ages)), laplace(len(ages), sum(1 - age for age in ages))
    assert_allclose(forth.statistic, -back.statistic, atol=1e-9)
    assert_allclose((forth.p, forth.p_improving), (back.p, back.p_worsening), atol=1e-9)


@given(AGES)
def test_the_exact_limits_of_the_shape_agree_with_the_handbook_test(ages):
    logs = -np.log(ages).sum()
    law, test = power_law(len(ages), logs, 1, 1.0), military_handbook(len(ages), logs)
    if abs(test.p - 0.05) > 1e-9:
        assert (test.p < 0.05) == (law.low > 1 or law.high < 1)


def test_a_process_without_trend_is_called_one_in_twenty_times():
    rng = np.random.default_rng(4)
    n = rng.poisson(12, 4000) + 1
    group, ages = np.repeat(np.arange(4000), n), rng.uniform(0, 1, n.sum())
    fractions = np.bincount(group, weights=ages)
    logs = np.bincount(group, weights=-np.log(ages))
    assert 0.04 < (laplace(n, fractions).p < 0.05).mean() < 0.06
    assert 0.04 < (military_handbook(n, logs).p < 0.05).mean() < 0.06


def test_limits_hold_the_shape_of_machines_seen_late():
    # 1,000 fleets of 20 machines seen from age 1 to 3; M = t**2, so squared ages are uniform.
    rng = np.random.default_rng(7)
    count = rng.poisson(3**2 - 1**2, 20_000)
    time = np.sqrt(rng.uniform(1, 9, count.sum()))
    windows = Windows(np.arange(20_000) // 20, np.ones(20_000), np.full(20_000, 3.0))
    fit = fit_power_law(windows, Happenings(np.repeat(np.arange(20_000), count), time), groups=1000)
    assert fit.is_fitted.all()
    assert 0.93 <= ((fit.low < 2) & (fit.high > 2)).mean() <= 0.97
    assert_allclose((np.median(fit.shape), np.median(fit.scale)), (2, 1), rtol=0.02)


def test_without_events_there_is_no_trend_and_no_law():
    for test in (laplace([0], [0.0]), military_handbook([0], [0.0])):
        assert_array_equal(np.ravel(test), [0, 1, 1, 1])
    for law in (
        power_law([0], [0.0], [3], [5.0]),
        fit_power_law(Windows([0], [0], [5]), Happenings([], []), groups=1),
    ):
        assert_array_equal(np.ravel(np.array(law)), [np.inf, 0, np.inf, np.inf, np.inf, 0, 0])
    assert unbiased_shape(0, 0.0) == np.inf


def test_what_cannot_be_is_refused_by_name():
    with pytest.raises(ValueError, match="sum_fraction must be at most"):
        laplace(2, 2.5)
    with pytest.raises(ValueError, match="events must be at least 2"):
        mtbf_at_end(1, 0.3, 10)
    with pytest.raises(ValueError, match="entry must be at least 0"):
        fit_power_law(Windows([0], [-1], [5]), Happenings([0], [2]), groups=1)
