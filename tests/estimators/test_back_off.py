"""Chances that lean on coarser groups of jobs: worked by hand, and limits that hold."""

import numpy as np
import pytest

from pipeline.estimators.back_off import chances, leaning, root, something_else


def test_worked_example():
    # kappa 8, root .5 .3 .2, category 20/30/10, family 0/2/1 (computed from the formula).
    category = leaning([20, 30, 10], [0.5, 0.3, 0.2], 8)
    family = leaning([0, 2, 1], category, 8)
    assert category == pytest.approx([0.3529, 0.4765, 0.1706], abs=5e-5)
    assert family == pytest.approx([0.2567, 0.5283, 0.2150], abs=5e-5)


def test_jobs_lent_to_every_fix_seen_draw_them_together_and_give_the_others_nothing():
    # (12 + 2 + 8 p) / (13 + 4 + 8) by hand, p = 40.5/56.5; the third was not seen at the level.
    root_chances = np.array([40.5, 10.5, 5.5]) / 56.5
    estimate = chances([[40, 10, 5], [12, 1, 0]], 8, 2)
    assert estimate.value == pytest.approx((np.array([14, 3, 0]) + 8 * root_chances) / 25)
    assert estimate.weight == pytest.approx(np.array([14, 3, 0]) + 8 * root_chances)
    assert estimate.value[0] < chances([[40, 10, 5], [12, 1, 0]], 8).value[0]


def test_root_adds_one_half_to_every_fix():
    assert root([3, 0, 1]) == pytest.approx([3.5 / 5.5, 0.5 / 5.5, 1.5 / 5.5])


def test_chances_add_up_to_one_and_lie_within_their_limits():
    estimate = chances([[40, 10, 5], [12, 1, 0], [1, 0, 0]], 8)
    assert estimate.value.sum() == pytest.approx(1)
    assert ((estimate.low < estimate.value) & (estimate.value < estimate.high)).all()


def test_finest_level_without_jobs_says_what_the_level_before_says():
    before = chances([[40, 10, 5], [12, 1, 0]], 8).value
    assert chances([[40, 10, 5], [12, 1, 0], [0, 0, 0]], 8).value == pytest.approx(before)


def test_finest_level_with_many_jobs_speaks_for_itself():
    assert chances([[40, 10, 5], [0, 9000, 1000]], 8).value == pytest.approx([0, 0.9, 0.1], abs=1e-3)


@pytest.mark.parametrize(("once", "jobs", "share"), [(0, 0, 0.5), (0, 9, 0.05), (3, 6, 0.5), (1, 14, 0.1)])
def test_something_else_is_at_most_one_half(once, jobs, share):
    assert something_else(once, jobs) == pytest.approx(share)


def test_interval_holds_the_chance_of_simulated_jobs_as_often_as_it_says():
    rng = np.random.default_rng(3)
    truth = np.array([0.6, 0.3, 0.1])
    held = []
    for _ in range(2000):
        estimate = chances([rng.multinomial(400, truth), rng.multinomial(40, truth)], 8)
        held.append((estimate.low <= truth) & (truth <= estimate.high))
    assert np.mean(held) >= 0.94


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="at least one level"):
        chances([], 8)
    with pytest.raises(ValueError, match="kappa"):
        chances([[1]], 0)
    with pytest.raises(ValueError, match="even"):
        chances([[1], [1]], 1, -1)
