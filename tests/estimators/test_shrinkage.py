"""Shrinkage toward a family: published and recomputed numbers, and what must hold for any family."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from scipy import optimize, stats

from pipeline.estimators.gamma_poisson import _Counts
from pipeline.estimators.rates import exact_rate
from pipeline.estimators.shrinkage import beta_posterior, fit_beta, fit_gamma, shrink_rates, shrink_shares


def family_of(size):
    return np.zeros(size, dtype=int)


def test_ten_pumps(reference):
    # Gaver & O'Muircheartaigh (1987). Published alpha .82, beta 1.26: memory; digits recomputed.
    data = reference("pumps")
    given_ = (family_of(10), data["failures"], data["t_khours"])
    prior = fit_gamma(*given_, families=1)
    assert_allclose((prior.a[0], prior.b[0]), (0.82, 1.26), atol=5e-3)
    assert_allclose((prior.a[0], prior.b[0]), (0.8229651, 1.2616533), atol=5e-7)
    a, b = prior.a, prior.b
    log_likelihood = stats.nbinom.logpmf(given_[1], a, b / (b + given_[2])).sum()
    assert_allclose(log_likelihood, -32.257836, atol=5e-6)
    means = [0.06093412, 0.10747567, 0.09075460, 0.11647629, 0.58799891]
    means += [0.60691861, 0.78859796, 0.78859796, 1.43470032, 1.94045552]
    assert_allclose((a + given_[1]) / (b + given_[2]), means, atol=5e-8)


def test_ten_pumps_over_all_priors(reference):
    # The example "Pumps" of BUGS: rates Gamma(alpha, beta), alpha Exp(1), beta Gamma(0.1, 1). Means by quadrature of our
    # likelihood against those by another quadrature, and against the published ones of a sampler (documentation of the Julia
    # library Mamba: read), whose own error is 0.5 to 3 %.
    data = reference("pumps")
    d, t = data["failures"].astype(float), data["t_khours"]
    # Each point of the grid is a family of its own.
    u, v = (axis.ravel() for axis in np.meshgrid(np.linspace(-4, 2.5, 140), np.linspace(-5.5, 3, 180)))
    points = len(u)
    model = _Counts(np.repeat(np.arange(points), 10), np.tile(d, points), np.tile(t, points), points)
    # Densities of alpha and beta on the scale of logarithms.
    prior = -np.exp(u) + u + 0.1 * v - np.exp(v)
    weight = model.log_likelihood(u, u - v - np.log(model.pooled)) + prior
    weight = np.exp(weight - weight.max()) / np.exp(weight - weight.max()).sum()
    a, b = np.exp(u)[:, None], np.exp(v)[:, None]
    found = weight @ np.hstack([(a + d) / (b + t), a, b])
    quadrature = [0.059818, 0.101827, 0.089242, 0.115788, 0.601338, 0.609388, 0.892533, 0.892533, 1.586307]
    assert_allclose(found, [*quadrature, 1.989834, 0.697175, 0.926818], rtol=1e-3)
    sampled = [0.0597276, 0.0997635, 0.0889841, 0.116179, 0.603654, 0.608916, 0.894307, 0.884304, 1.56235]
    assert_allclose(found, [*sampled, 1.98785, 0.679247, 0.893892], rtol=0.04)


def test_shares_with_a_given_prior():
    # Computed apart, with SciPy 1.17: a = 3, b = 27.
    result = beta_posterior(3, 27, [0, 2, 6], [5, 5, 40])
    assert_allclose(result.value, [0.0857, 0.1429, 0.1286], atol=5e-5)
    assert_allclose((result.low, result.high), stats.beta.interval(0.95, [3, 5, 9], [32, 30, 61]))


def test_beta_prior_is_where_the_likelihood_is_highest():
    rng = np.random.default_rng(2)
    n = rng.integers(5, 60, 40)
    x = rng.binomial(n, rng.beta(2, 12, 40))
    prior = fit_beta(family_of(40), x, n, families=1)

    def loss(logs):
        return -stats.betabinom.logpmf(x, n, *np.exp(logs)).sum()

    best = optimize.minimize(loss, [0, 2], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    assert_allclose((prior.a[0], prior.b[0]), np.exp(best.x), rtol=1e-5)


MEMBERS = st.lists(st.tuples(st.integers(0, 30), st.floats(0.1, 50)), min_size=1, max_size=12)


@settings(deadline=None)
@given(MEMBERS)
def test_a_shrunk_rate_lies_between_its_own_and_those_of_its_family(members):
    d, t = np.array(members).T
    prior = fit_gamma(family_of(len(d)), d, t, families=1)
    value, low, high = shrink_rates(prior, family_of(len(d)), d, t)
    assert ((low >= 0) & (low <= value) & (value <= high)).all()
    if prior.is_fitted[0]:
        assert ((d / t).min() - 1e-9 <= value).all()
        assert (value <= (d / t).max() + 1e-9).all()
        assert prior.a[0] <= d.sum() * (1 + 1e-9)


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=1, max_size=12))
def test_a_shrunk_share_lies_within_its_limits(members):
    x, misses = np.array(members).T
    value, low, high = shrink_shares(
        fit_beta(family_of(len(x)), x, x + misses, families=1), family_of(len(x)), x, x + misses
    )
    assert ((low >= 0) & (low <= value) & (value <= high) & (high <= 1)).all()


def test_limits_hold_the_truth_where_those_of_the_fitted_prior_alone_do_not():
    rng = np.random.default_rng(12)
    family = np.repeat(np.arange(400), 10)
    truth, t = rng.gamma(4, 1 / 4, 4000), rng.uniform(0.3, 3, 4000)
    d = rng.poisson(truth * t)
    prior = fit_gamma(family, d, t, families=400)
    _, low, high = shrink_rates(prior, family, d, t)
    a, b = prior.a[family] + d, prior.b[family] + t
    plain_low, plain_high = stats.gamma.interval(0.95, a, scale=1 / b)
    assert ((plain_low <= truth) & (truth <= plain_high)).mean() < 0.90
    assert 0.93 < ((low <= truth) & (truth <= high)).mean() < 0.985


def test_more_data_shrink_less():
    d, t = np.array([1, 10, 100, 2, 3, 9]), np.array([1.0, 10.0, 100.0, 9.0, 30.0, 40.0])
    value = shrink_rates(fit_gamma(family_of(6), d, t, families=1), family_of(6), d, t).value
    pull = np.abs(value - d / t)[:3]
    assert pull[0] > pull[1] > pull[2]


def test_a_family_that_does_not_vary_is_pooled_but_not_beyond_what_it_knows():
    d, t = np.full(8, 5), np.full(8, 10.0)
    prior = fit_gamma(family_of(8), d, t, families=1)
    assert_allclose(prior.a, 40, rtol=1e-6)
    result = shrink_rates(prior, family_of(8), d, t)
    pooled = exact_rate(40, 80)
    assert_allclose(result.value, 0.5, rtol=1e-6)
    assert result.low[0] < 0.5 < result.high[0]
    assert result.high[0] - result.low[0] > pooled.high - pooled.low


@pytest.mark.parametrize(
    ("d", "t"), [([4, 1], [2.0, 5.0]), ([0, 0, 0, 0], [2.0, 5.0, 1.0, 3.0]), ([4, 0, 0], [2.0, 0.0, 0.0])]
)
def test_too_small_a_family_lends_nothing(d, t):
    prior = fit_gamma(family_of(len(d)), d, t, families=1)
    assert (prior.is_fitted[0], prior.a[0], prior.b[0]) == (False, 0.5, 0)


def test_a_member_without_exposure_gets_the_familys_rate_or_none():
    prior = fit_gamma([0, 0, 0, 0, 1], [4, 9, 1, 0, 0], [2, 3, 4, 0, 0], families=2)
    result = shrink_rates(prior, [0, 1], [0, 0], [0, 0])
    assert_allclose(result.value[0], prior.a[0] / prior.b[0], rtol=0.1)
    assert (result.value[1], result.low[1], result.high[1]) == (np.inf, 0, np.inf)


@pytest.mark.parametrize(
    ("x", "n"), [([0, 0, 0], [5, 6, 7]), ([5, 6, 7], [5, 6, 7]), ([1, 0, 1, 0], [1, 1, 1, 1])]
)
def test_shares_that_show_no_variation_lend_nothing(x, n):
    prior = fit_beta(family_of(len(x)), x, n, families=1)
    assert (prior.is_fitted[0], prior.a[0], prior.b[0]) == (False, 0.5, 0.5)


def test_one_family_does_not_touch_another():
    rng = np.random.default_rng(9)
    family = rng.integers(0, 6, 60)
    d, t = rng.poisson(3, 60), rng.uniform(0.5, 4, 60)
    x = rng.binomial(20, 0.3, 60)
    rates, shares = fit_gamma(family, d, t, families=7), fit_beta(family, x, np.full(60, 20), families=7)
    for number in range(6):
        own = family == number
        alone = fit_gamma(family[own] * 0, d[own], t[own], families=1)
        assert_allclose((rates.a[number], rates.b[number]), (alone.a[0], alone.b[0]), rtol=1e-9)
        alone = fit_beta(family[own] * 0, x[own], np.full(own.sum(), 20), families=1)
        assert_allclose((shares.a[number], shares.b[number]), (alone.a[0], alone.b[0]), rtol=1e-9)
    assert_array_equal((rates.is_fitted[6], shares.is_fitted[6]), (False, False))


def test_what_cannot_be_is_refused_by_name():
    with pytest.raises(ValueError, match="exposure must be at least 0"):
        fit_gamma([0], [1], [-1.0], families=1)
    with pytest.raises(ValueError, match="group must be between 0 and 0"):
        fit_gamma([3], [1], [1.0], families=1)
    with pytest.raises(ValueError, match="x must be at most n"):
        fit_beta([0], [3], [2], families=1)
