"""Life curves against lifelines and SciPy on random data."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from pipeline.estimators.competing import curves_from_records, probability_by
from pipeline.estimators.restricted import band, quantile, restricted_mean

pytestmark = pytest.mark.oracle
with warnings.catch_warnings():
    # What lifelines and its own dependencies still use of pandas and autograd is theirs to mend.
    warnings.simplefilter("ignore", DeprecationWarning)
    warnings.simplefilter("ignore", FutureWarning)
    lifelines = pytest.importorskip("lifelines", reason="lifelines is in the oracle extra")


def draw(seed, size=300, *, delayed=False):
    rng = np.random.default_rng(seed)
    time = rng.integers(1, 120, size)
    cause = rng.integers(-1, 2, size)
    entry = np.minimum(rng.integers(-1, 40, size), time - 1) if delayed else np.full(size, -1)
    # A start at which many are at risk: a curve that begins with one record may fall to zero at once.
    entry[: size // 3] = -1
    return time, cause, entry


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("delayed", [False, True])
def test_kaplan_meier_and_greenwood(seed, delayed):
    time, cause, entry = draw(seed, delayed=delayed)
    curves = curves_from_records(0 * time, time, cause, groups=1, causes=2, entry=entry)
    fit = lifelines.KaplanMeierFitter().fit(time, cause >= 0, entry=np.maximum(entry, 0))
    days = [5, 30, 60, 100]
    ours = [probability_by(curves, day, (0, 1)) for day in days]
    assert_allclose([1 - result.value[0] for result in ours], fit.predict(days), rtol=1e-9)
    drawn = band(curves, (0, 1))
    inside = (drawn.value > 0) & (drawn.value < 1)
    limits = fit.confidence_interval_.loc[curves.time[inside]]
    assert_allclose(1 - drawn.high[inside], limits.iloc[:, 0], rtol=1e-7)
    assert_allclose(1 - drawn.low[inside], limits.iloc[:, 1], rtol=1e-7)


@pytest.mark.parametrize("seed", range(5))
def test_aalen_johansen(seed):
    # lifelines moves tied times apart at random: distinct times, so that both see the same data.
    rng = np.random.default_rng(seed)
    time, cause = rng.permutation(np.arange(1, 301)), rng.integers(-1, 2, 300)
    curves = curves_from_records(0 * time, time, cause, groups=1, causes=2)
    fit = lifelines.AalenJohansenFitter().fit(time, cause + 1, event_of_interest=1)
    theirs = fit.cumulative_density_.iloc[:, 0]
    for day in (20, 90, 200, 280):
        ours = probability_by(curves, day)
        assert_allclose(ours.value[0], theirs[theirs.index <= day].iloc[-1], rtol=1e-9)
        variance = fit.variance_[fit.variance_.index <= day].iloc[-1]
        assert_allclose(ours.variance[0], variance, rtol=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_restricted_mean_and_median(seed):
    time, cause, _ = draw(seed)
    curves = curves_from_records(0 * time, time, np.minimum(cause, 0), groups=1)
    fit = lifelines.KaplanMeierFitter().fit(time, cause >= 0)
    # Its own restricted mean integrates the steps numerically; the area under them day by day is exact.
    assert_allclose(restricted_mean(curves, 60).value, fit.predict(np.arange(60)).sum(), rtol=1e-9)
    assert quantile(curves, 0.5).value == fit.median_survival_time_


@pytest.mark.filterwarnings("ignore:The confidence interval is undefined:RuntimeWarning")
@pytest.mark.parametrize("seed", range(5))
def test_scipys_curve_and_its_log_log_limits(seed):
    time, cause, _ = draw(seed)
    curves = curves_from_records(0 * time, time, np.minimum(cause, 0), groups=1)
    sample = stats.CensoredData.right_censored(time.astype(float), cause < 0)
    theirs = stats.ecdf(sample)
    places = np.searchsorted(curves.time, theirs.cdf.quantiles)
    ours = band(curves)
    assert_allclose(ours.value[places], theirs.cdf.probabilities, rtol=1e-9)
    with np.errstate(divide="ignore", invalid="ignore"):
        limits = theirs.sf.confidence_interval(method="log-log")
    inside = (ours.value[places] > 0) & (ours.value[places] < 1)
    assert_allclose(1 - ours.high[places][inside], limits.low.probabilities[inside], rtol=1e-7)
    assert_allclose(1 - ours.low[places][inside], limits.high.probabilities[inside], rtol=1e-7)
