"""Proportions, rates, differences and false discovery rates against statsmodels and SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy import stats

from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.proportions import clopper_pearson, jeffreys, newcombe_difference, wilson
from pipeline.estimators.rates import UnitSums, exact_rate, rate_ratio, score_rate, unit_rate

pytestmark = pytest.mark.oracle
proportion = pytest.importorskip("statsmodels.stats.proportion", reason="statsmodels is in the oracle extra")
rates = pytest.importorskip("statsmodels.stats.rates")
multitest = pytest.importorskip("statsmodels.stats.multitest")

RNG = np.random.default_rng(20)
N = RNG.integers(1, 400, 200)
X = RNG.binomial(N, RNG.uniform(0, 1, 200))


@pytest.mark.parametrize(
    ("ours", "method"), [(wilson, "wilson"), (clopper_pearson, "beta"), (jeffreys, "jeffreys")]
)
@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_proportions(ours, method, level):
    low, high = proportion.proportion_confint(X, N, alpha=1 - level, method=method)
    inside = (X > 0) & (N > X) if method == "jeffreys" else np.full(200, fill_value=True)
    assert_allclose(ours(X, N, level).low[inside], low[inside], rtol=1e-9, atol=1e-15)
    assert_allclose(ours(X, N, level).high[inside], high[inside], rtol=1e-9)


def test_newcombes_difference():
    for x1, n1, x2, n2 in zip(X[:100], N[:100], X[100:], N[100:], strict=True):
        theirs = proportion.confint_proportions_2indep(x1, n1, x2, n2, method="newcomb", compare="diff")
        ours = newcombe_difference((x1 / n1, *wilson(x1, n1)), (x2 / n2, *wilson(x2, n2)))
        assert_allclose((ours.low, ours.high), theirs, atol=1e-9)


@pytest.mark.parametrize(("ours", "method"), [(exact_rate, "exact-c"), (score_rate, "score")])
def test_rates(ours, method):
    for events, exposure in zip(RNG.integers(1, 300, 50), RNG.uniform(0.1, 90, 50), strict=True):
        theirs = rates.confint_poisson(events, exposure, method=method, alpha=0.05)
        assert_allclose(ours(events, exposure)[1:], theirs, rtol=1e-8)


def test_ratio_of_rates_is_the_conditional_binomial_test():
    for d1, d2, t1, t2 in zip(*RNG.integers(1, 60, (2, 50)), *RNG.uniform(1, 9, (2, 50)), strict=True):
        share = t1 / (t1 + t2)
        test = stats.binomtest(int(d1), int(d1 + d2), share)
        limits = test.proportion_ci(0.95, method="exact")
        one_sided = [
            stats.binomtest(int(d1), int(d1 + d2), share, side).pvalue for side in ("less", "greater")
        ]
        ours = rate_ratio(d1, t1, d2, t2)
        assert_allclose(ours.p, min(1, 2 * min(one_sided)), rtol=1e-9)
        odds = [limits.low / (1 - limits.low), limits.high / (1 - limits.high)]
        assert_allclose((ours.low, ours.high), np.array(odds) * t2 / t1, rtol=1e-8)


def test_by_unit_variance_is_that_of_a_clustered_poisson_model():
    sm = pytest.importorskip("statsmodels.api")
    d, t = RNG.poisson(RNG.gamma(1, 2, 60)), RNG.uniform(0.5, 3, 60)
    fit = sm.GLM(d, np.ones(60), family=sm.families.Poisson(), exposure=t).fit(
        cov_type="cluster", cov_kwds={"groups": np.arange(60), "use_correction": False}
    )
    ours = unit_rate(UnitSums(d.sum(), t.sum(), (d * d).sum(), (d * t).sum(), (t * t).sum(), 60))
    assert_allclose(np.log(ours.value), fit.params[0], rtol=1e-8)
    se = np.log(ours.high / ours.value) / stats.t.ppf(0.975, 59)
    assert_allclose(se, fit.bse[0] * np.sqrt(60 / 59), rtol=1e-7)


def test_false_discovery_rates():
    p = np.concatenate([RNG.uniform(0, 1, 300), RNG.uniform(0, 0.001, 30), [0.2, 0.2, 1.0]])
    assert_allclose(benjamini_hochberg(p), multitest.multipletests(p, method="fdr_bh")[1], rtol=1e-12)
    assert_allclose(benjamini_hochberg(p), stats.false_discovery_control(p), rtol=1e-12)
