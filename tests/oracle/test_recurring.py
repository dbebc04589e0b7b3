"""Mean cumulative functions, trend tests, power laws and Weibull fits against surpyval on random data."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose

from pipeline.estimators.curves import Entries
from pipeline.estimators.mcf import Happenings, Windows, mean_cumulative
from pipeline.estimators.power_law import fit_power_law
from pipeline.estimators.trend import laplace, military_handbook
from pipeline.estimators.weibull import fit_weibull
from tests.estimators.drawn_lives import fit_drawn

pytestmark = [pytest.mark.oracle, pytest.mark.filterwarnings("ignore")]
with warnings.catch_warnings():
    # What surpyval and its own dependencies still use of others is theirs to mend.
    warnings.simplefilter("ignore")
    surpyval = pytest.importorskip("surpyval", reason="surpyval is in the oracle extra")
    recurrent = pytest.importorskip("surpyval.recurrent", reason="surpyval is in the oracle extra")


def draw(seed, *, machines=30, delayed=False, end=None):
    """Machines under observation and their events on distinct days."""
    rng = np.random.default_rng(seed)
    entry = rng.integers(0, 200, machines).astype(float) if delayed else np.zeros(machines)
    leave = entry + rng.integers(50, 700, machines) if end is None else np.full(machines, float(end))
    count = rng.poisson(rng.gamma(2.0, 1.2, machines))
    unit = np.repeat(np.arange(machines), count)
    time = entry[unit] + rng.random(len(unit)) ** 0.7 * (leave - entry)[unit]
    return Windows(np.zeros(machines, dtype=int), entry, leave), Happenings(unit, time)


def rows(windows, happenings):
    """The same as rows of events (c 0) and ends of observation (c 1)."""
    machines = np.arange(len(windows.exit))
    x = np.concatenate([happenings.time, windows.exit])
    i = np.concatenate([happenings.unit, machines])
    c = np.repeat([0, 1], [len(happenings.time), len(machines)])
    return x, i, c


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("delayed", [False, True])
def test_mean_cumulative_function_and_its_robust_variance(seed, delayed):
    windows, happenings = draw(seed, delayed=delayed)
    x, i, c = rows(windows, happenings)
    theirs = recurrent.NonParametricCounting.fit(x=x, i=i, c=c, tl=windows.entry[i] if delayed else None)
    ours = mean_cumulative(windows, happenings, groups=1)
    places = np.searchsorted(theirs.x, ours.time)
    assert_allclose(ours.at_risk, theirs.r[places])
    assert_allclose(ours.value, theirs.mcf_hat[places], rtol=1e-9)
    assert_allclose(ours.variance, theirs.var[places], rtol=1e-7, atol=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_trend_tests_and_power_law(seed):
    windows, happenings = draw(seed, end=1000)
    x, i, n = happenings.time, happenings.unit, len(happenings.time)
    end = dict.fromkeys(range(30), 1000.0)
    theirs = recurrent.laplace(x, i, T=end)
    ours = laplace(n, (x / 1000).sum())
    assert_allclose((ours.statistic, ours.p), (theirs.statistic, theirs.p_value), rtol=1e-9)
    theirs = recurrent.mil_hdbk_189c(x, i, T=end)
    ours = military_handbook(n, np.log(1000 / x).sum())
    assert_allclose((ours.statistic, ours.p), (theirs.statistic, theirs.p_value), rtol=1e-9)
    law = fit_power_law(windows, happenings, groups=1)
    scale, shape = recurrent.CrowAMSAA.fit(*rows(windows, happenings)).params
    assert_allclose((law.shape[0], law.scale[0]), (shape, scale), rtol=1e-4)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("delayed", [False, True])
def test_power_law_of_machines_seen_for_different_times(seed, delayed):
    windows, happenings = draw(seed, delayed=delayed)
    x, i, c = rows(windows, happenings)
    theirs = recurrent.CrowAMSAA.fit(x=x, i=i, c=c, tl=windows.entry[i] if delayed else None)
    law = fit_power_law(windows, happenings, groups=1)
    assert_allclose((law.scale[0], law.shape[0]), theirs.params, rtol=1e-4)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("delayed", [False, True])
def test_weibull(seed, delayed):
    rng = np.random.default_rng(seed)
    life = rng.weibull(rng.choice([0.7, 1.0, 2.2]), 400) * rng.uniform(50, 500)
    entry = rng.uniform(1, 60, 400) if delayed else np.zeros(400)
    last = entry + rng.uniform(5, 400, 400)
    seen = life > entry
    time, failed, entry = np.minimum(life, last)[seen], (life <= last)[seen].astype(int), entry[seen]
    theirs = surpyval.Weibull.fit(x=time, c=1 - failed, tl=entry if delayed else None)
    group = np.zeros(len(time), dtype=int)
    entries = Entries(group, entry, np.ones_like(group)) if delayed else None
    ours = fit_weibull(group, time, failed, 1 - failed, groups=1, entries=entries)
    assert_allclose((ours.scale[0], ours.shape[0]), theirs.params, rtol=1e-4)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("delayed", [False, True])
def test_weibull_of_lives_found_ended_at_a_look(seed, delayed):
    rng = np.random.default_rng(seed)
    life = rng.weibull(rng.choice([0.7, 1.0, 2.2]), 400) * rng.uniform(50, 500)
    entry = rng.uniform(1, 60, 400) * delayed
    last = entry + rng.uniform(5, 400, 400)
    seen = life > entry
    life, entry, last = life[seen], entry[seen], last[seen]
    unseen = (life <= last) & (rng.uniform(size=len(life)) < 0.4)
    failed = ((life <= last) & ~unseen).astype(int)
    time, by = np.minimum(life, last), life * rng.uniform(1.05, 2, len(life))
    # Theirs: censoring -1 from the left, 1 from the right, 2 between; never seen before is between 0 and the look.
    censoring = np.where(unseen, 2 if delayed else -1, 1 - failed)
    ends = np.where(unseen, by, time)
    begins = np.where(unseen & delayed, entry, ends)
    theirs = surpyval.Weibull.fit(
        x=np.stack([begins, ends], axis=1) if delayed else ends, c=censoring, tl=entry if delayed else None
    )
    ours = fit_drawn(time, failed, entry, unseen, by)
    assert_allclose((ours.scale[0], ours.shape[0]), theirs.params, rtol=1e-4)
    assert_allclose(ours.log_likelihood, -theirs.neg_ll(), rtol=1e-8)


@pytest.mark.parametrize("seed", range(3))
def test_kaplan_meier_with_delayed_entry(seed):
    from pipeline.estimators.competing import curves_from_records

    rng = np.random.default_rng(seed)
    time = rng.integers(2, 120, 300)
    failed = rng.integers(0, 2, 300)
    entry = np.minimum(rng.integers(0, 40, 300), time - 1)
    entry[:100] = 0
    # Ours: at risk on entry < day <= time.
    curves = curves_from_records(0 * time, time, failed - 1, groups=1, entry=entry)
    theirs = surpyval.KaplanMeier.fit(x=time, c=1 - failed, tl=entry.astype(float))
    assert_allclose(curves.survival, theirs.sf(curves.time), rtol=1e-9)
