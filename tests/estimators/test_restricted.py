"""Bands, quantiles and restricted means of life curves."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.competing import curves_from_records, probability_by
from pipeline.estimators.restricted import band, quantile, restricted_mean


def one_group(time, cause, **options):
    return curves_from_records(np.zeros(len(time), dtype=int), time, cause, groups=1, **options)


def test_six_mp_median(reference):
    # Freireich 1963 / Gehan 1965 as tabled in Kleinbaum & Klein and in Collett: 23 weeks, memory.
    data = reference("km_6mp")
    assert quantile(one_group(data["weeks"], data["relapse"] - 1), 0.5).value == 23


def test_a_quantile_that_is_never_reached_is_infinite():
    result = quantile(one_group([3, 9, 9, 9], [0, -1, -1, -1]), 0.5)
    assert (result.value[0], result.high[0]) == (np.inf, np.inf)


def test_the_median_of_a_full_sample_is_its_middle():
    assert quantile(one_group([1, 2, 3, 4, 5], [0] * 5), 0.5).value == 3
    assert quantile(one_group([1, 2, 3, 4], [0] * 4), 0.5).value == 2


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(-1, 0)), min_size=1, max_size=40),
    st.floats(0.05, 0.95),
)
def test_quantile_lies_within_its_limits_and_is_reached(records, share):
    time, cause = np.array(records).T
    curves = one_group(time, cause)
    value, low, high = quantile(curves, share)
    assert low <= value <= high
    if value < np.inf:
        assert probability_by(curves, int(value[0])).value >= share - 1e-9
        assert value == 0 or probability_by(curves, int(value[0]) - 1).value < share


@given(st.lists(st.tuples(st.integers(0, 40), st.integers(-1, 1)), min_size=1, max_size=40))
def test_band_holds_the_curve_and_has_the_variance_of_each_day(records):
    time, cause = np.array(records).T
    curves = one_group(time, cause, causes=2)
    drawn = band(curves)
    assert ((drawn.low >= 0) & (drawn.low <= drawn.value + 1e-12)).all()
    assert ((drawn.value <= drawn.high + 1e-12) & (drawn.high <= 1)).all()
    by_day = [probability_by(curves, int(day)).variance[0] for day in curves.time]
    assert_allclose(drawn.variance, by_day, atol=1e-12)


def test_log_log_limits_of_a_point():
    # S = 1/2 with SE s has the limits S ** exp(+-1.96 s / (S ln S)).
    curves = one_group([4] * 10 + [9] * 10, [0] * 10 + [-1] * 10)
    drawn = band(curves)
    exponent = np.exp(1.959963985 * np.sqrt(0.25 / 20) / (0.5 * np.log(2)))
    assert_allclose((drawn.low[0], drawn.high[0]), (1 - 0.5 ** (1 / exponent), 1 - 0.5**exponent), rtol=1e-8)


def test_the_restricted_mean_of_a_full_sample_is_the_plain_mean():
    time = np.array([2, 4, 4, 7, 30, 80])
    result = restricted_mean(one_group(time, [0] * 6), 60)
    assert_allclose(result.value, np.minimum(time, 60).mean())
    assert_allclose(result.variance, np.minimum(time, 60).var() / 6)
    assert result.is_complete


def test_a_record_that_met_another_cause_counts_the_whole_time():
    result = restricted_mean(one_group([10, 10], [0, 1], causes=2), 60)
    assert result.value == (10 + 60) / 2


def test_a_curve_cut_short_is_marked():
    assert not restricted_mean(one_group([5, 20], [0, -1]), 60).is_complete
    assert restricted_mean(one_group([5, 20], [0, 0]), 60).is_complete
    assert restricted_mean(one_group([5, 60], [0, -1]), 60).is_complete


@pytest.mark.parametrize(("time", "cause"), [([], []), ([70, 80], [-1, -1]), ([4], [0])])
def test_a_mean_without_a_variance_is_open_from_0_to_tau(time, cause):
    result = restricted_mean(one_group(time, cause), 60)
    assert_array_equal([result.low[0], result.high[0]], [0, 60])


@pytest.mark.parametrize("tau", [0, -3])
def test_a_restriction_must_be_above_zero(tau):
    with pytest.raises(ValueError, match="tau must be above 0"):
        restricted_mean(one_group([1], [0]), tau)


@pytest.mark.parametrize("share", [0, 1, 50])
def test_a_share_must_be_between_zero_and_one(share):
    with pytest.raises(ValueError, match="share must be between 0 and 1"):
        quantile(one_group([1], [0]), share)
