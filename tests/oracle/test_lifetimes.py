"""Weibull and log-normal fits against lifelines and SciPy on random data."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from pipeline.estimators.curves import Entries
from pipeline.estimators.lognormal import fit_times, lognormal_quantile
from pipeline.estimators.weibull import fit_weibull

pytestmark = pytest.mark.oracle
with warnings.catch_warnings():
    # What lifelines and its own dependencies still use of pandas and autograd is theirs to mend.
    warnings.simplefilter("ignore", DeprecationWarning)
    warnings.simplefilter("ignore", FutureWarning)
    lifelines = pytest.importorskip("lifelines", reason="lifelines is in the oracle extra")


def draw(seed, *, delayed):
    rng = np.random.default_rng(seed)
    life = rng.weibull(rng.choice([0.7, 1.0, 2.2]), 500) * rng.uniform(50, 500)
    entry = rng.uniform(0, 100, 500) if delayed else np.zeros(500)
    last = entry + rng.uniform(5, 400, 500)
    seen = life > entry
    return np.minimum(life, last)[seen], (life <= last)[seen].astype(int), entry[seen]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("delayed", [False, True])
def test_weibull(seed, delayed):
    time, failed, entry = draw(seed, delayed=delayed)
    theirs = lifelines.WeibullFitter().fit(time, failed, entry=entry if delayed else None)
    group = np.zeros(len(time), dtype=int)
    entries = Entries(group, entry, np.ones_like(group)) if delayed else None
    ours = fit_weibull(group, time, failed, 1 - failed, groups=1, entries=entries)
    assert_allclose((ours.shape[0], ours.scale[0]), (theirs.rho_, theirs.lambda_), rtol=1e-4)
    assert_allclose(ours.log_likelihood, theirs.log_likelihood_, rtol=1e-8)
    se = theirs.summary["se(coef)"]
    widths = np.log([ours.shape_high / ours.shape, ours.scale_high / ours.scale]).ravel() / 1.959963985
    assert_allclose(widths, [se["rho_"] / theirs.rho_, se["lambda_"] / theirs.lambda_], rtol=1e-3)


def test_many_groups_in_one_call():
    rng = np.random.default_rng(1)
    group = np.repeat(np.arange(20), 200)
    time = np.ceil(rng.weibull(1 + group / 20) * 90) + 0.5
    failed = rng.integers(0, 2, len(time))
    ours = fit_weibull(group, time, failed, 1 - failed, groups=20)
    for number in range(20):
        own = group == number
        theirs = lifelines.WeibullFitter().fit(time[own], failed[own])
        assert_allclose((ours.shape[number], ours.scale[number]), (theirs.rho_, theirs.lambda_), rtol=1e-4)


@pytest.mark.parametrize("seed", range(5))
def test_log_normal(seed):
    times = np.random.default_rng(seed).lognormal(3, 0.8, 60)
    shape, _, scale = stats.lognorm.fit(times, floc=0)
    ours = fit_times(times)
    assert_allclose((np.exp(ours.mean_log), ours.sd_log), (scale, shape * np.sqrt(60 / 59)), rtol=1e-6)
    assert_allclose(
        lognormal_quantile(ours, 0.9), stats.lognorm.ppf(0.9, ours.sd_log, scale=scale), rtol=1e-6
    )
