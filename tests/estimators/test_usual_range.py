"""The usual range: by hand where nothing was seen, and how often the next count lies within."""

import numpy as np
import pytest
from scipy.stats import betabinom

from pipeline.estimators.usual_range import ABOVE, BELOW, WITHIN, usual_range


def test_even_stretches_give_the_beta_binomial_range():
    found = usual_range([5] * 12, [100] * 12, 100)
    assert found.share == pytest.approx(60.5 / 1201)
    low, high = betabinom.ppf([0.025, 0.975], 100, 60.5, 1140.5)
    assert (found.low, found.high) == (low, high) == (1, 10)
    assert [found.where(n) for n in (0, 1, 10, 11)] == [BELOW, WITHIN, WITHIN, ABOVE]


def test_stretches_that_differ_make_it_wider():
    even, uneven = (usual_range(x, [100] * 12, 100) for x in ([10] * 12, [2, 18] * 6))
    assert even.share == uneven.share
    assert uneven.high > even.high + 5
    assert uneven.low < even.low


def test_nothing_ever_seen_still_has_an_upper_limit():
    assert usual_range([0] * 6, [50] * 6, 50)[1:] == (0, 1)


@pytest.mark.parametrize(("stretches", "now"), [(5, 100), (12, 0)])
def test_too_little_before_or_nothing_now_gives_no_range(stretches, now):
    assert usual_range([1] * stretches, [100] * stretches, now) is None
    assert usual_range([1] * 5 + [0], [100] * 5 + [0], 100) is None


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match="must not be more"):
        usual_range([3] * 6, [2] * 6, 10)


@pytest.mark.parametrize("spread", [0.0, 0.02])
@pytest.mark.parametrize(("p", "stretches", "n"), [(0.02, 24, 120), (0.1, 12, 90), (0.05, 8, 30)])
def test_next_count_lies_within_as_often_as_said(p, stretches, n, spread):
    rng = np.random.default_rng([int(p * 1000), stretches, n, int(spread * 1000)])
    each = np.clip(p + spread * rng.standard_normal((600, stretches + 1)) * min(1, p / 0.05), 0, 1)
    counts = rng.binomial(n, each)
    within = np.mean([usual_range(row[:-1], [n] * stretches, n).where(row[-1]) == WITHIN for row in counts])
    assert within >= 0.93
