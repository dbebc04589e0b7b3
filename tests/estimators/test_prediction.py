"""The share of the next period: by hand, and how often the interval holds it."""

import numpy as np
import pytest
from scipy import stats

from pipeline.estimators.prediction import next_share


def test_equal_periods_give_the_beta_binomial():
    found = next_share([8, 8], [10, 10], 10)
    # Written out: Beta(16.5, 4.5) mixed over a binomial of ten, by sums of its probabilities.
    chances = np.cumsum(stats.betabinom.pmf(np.arange(11), 10, 16.5, 4.5))
    assert found.value == 0.8
    # Half of the chance of a count counts as below it.
    middles = chances - np.diff(chances, prepend=0.0) / 2
    assert found.low == pytest.approx(min(n for n in range(11) if middles[n] >= 0.025) / 10)
    assert found.high == pytest.approx(max(n for n in range(11) if middles[n] <= 0.975) / 10)


def test_periods_that_differ_more_than_chance_make_it_wider():
    same, apart = next_share([80, 80, 80, 80], [100] * 4, 100), next_share([95, 65, 95, 65], [100] * 4, 100)
    # Pearson by hand: each period is 15 off 80, with variance 16: 4 * 225 / 16 / 3.
    assert apart.dispersion == pytest.approx(18.75)
    assert apart.low < 0.5 < same.low
    assert same.dispersion == 1.0


def test_interval_stays_within_all_and_nothing():
    assert next_share([10, 10], [10, 10], 5).high == 1.0
    assert next_share([0, 0], [10, 10], 5).low == 0.0


@pytest.mark.parametrize(
    ("successes", "trials", "following"), [([], [], 5), ([3], [2], 5), ([1], [2], 0), ([0], [0], 5)]
)
def test_what_cannot_be_counts_is_refused(successes, trials, following):
    with pytest.raises(ValueError, match="must"):
        next_share(successes, trials, following)


def held(runs, periods, size, share, dispersion):
    """How often the interval holds the next period's share, periods drawn alike or more different than chance."""
    rng = np.random.default_rng(periods + size)
    hits = 0
    for _ in range(runs):
        shares = np.full(periods + 1, share)
        if dispersion > 1:
            rho = (dispersion - 1) / (size - 1)
            shares = rng.beta(share * (1 / rho - 1), (1 - share) * (1 / rho - 1), periods + 1)
        drawn = rng.binomial(size, shares)
        found = next_share(drawn[:-1], [size] * periods, size)
        hits += found.low - 1e-9 <= drawn[-1] / size <= found.high + 1e-9
    return hits / runs


def test_interval_holds_the_next_period():
    assert 0.92 <= held(200, 5, 100, 0.85, 1.0) <= 0.99
    # Five periods do not always show that they differ.
    assert held(200, 5, 100, 0.7, 2.0) >= 0.89


@pytest.mark.full
@pytest.mark.parametrize("periods", [4, 8])
@pytest.mark.parametrize("size", [30, 300])
@pytest.mark.parametrize("share", [0.6, 0.95])
@pytest.mark.parametrize("dispersion", [1.0, 2.5])
def test_interval_holds_the_next_period_of_many_fleets(periods, size, share, dispersion):
    # Alike: what is promised. Really different: what so few periods can show of it.
    least, most = (0.93, 0.985) if dispersion == 1.0 else (0.89, 1.0)
    assert least <= held(500, periods, size, share, dispersion) <= most
