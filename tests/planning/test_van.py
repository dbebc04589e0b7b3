"""Van stock: against simulation, every stock of small cases, the exact answer, and the rule of thumb."""

from itertools import product

import numpy as np
import pytest

from pipeline.planning import van_choice
from pipeline.planning.van import Tour, needs_of
from pipeline.planning.van_bound import upper_bound
from pipeline.planning.van_choice import choose, most_used
from pipeline.planning.van_exact import best_stock
from pipeline.planning.van_limits import Limits

SEEDS, ALL_SEEDS = 25, 200


def case(seed, parts=6):
    """A few parts, needs of one to three of them, a budget for some."""
    rng = np.random.default_rng(seed)
    patterns = [
        (
            float(rng.uniform(0.005, 0.12)),
            {
                int(p): int(rng.choice([1, 1, 1, 2]))
                for p in rng.choice(parts, size=rng.choice([1, 1, 1, 2, 3]), replace=False)
            },
        )
        for _ in range(int(rng.integers(4, 9)))
    ]
    needs = needs_of(patterns, parts, shape=rng.uniform(1, 30, parts))
    cost, volume = rng.uniform(2, 60, parts), rng.uniform(0.1, 5, parts)
    limits = Limits(
        cost,
        volume,
        budget=float(rng.uniform(20, 200)),
        litres=float(rng.choice([np.inf, rng.uniform(3, 15)])),
        lines=int(rng.integers(2, parts)) if rng.random() < 0.3 else None,
    )
    return Tour(needs, int(rng.integers(1, 7))), limits


def test_jobs_finished_are_those_of_a_simulated_tour():
    needs = needs_of([(0.2, {0: 1}), (0.1, {1: 1}), (0.05, {0: 1, 1: 2})], 2)
    tour, stock = Tour(needs, 5), np.array([1, 2])
    rng = np.random.default_rng(1)
    # Jobs as the model has them: pieces used before are Poisson, parts independent of each other.
    total = 0.0
    for k in range(5):
        used = rng.poisson(needs.rate * k, size=(200_000, 2))
        left = stock - used
        total += sum(
            share * np.all([left[:, part] >= pieces for part, pieces in need.items()], axis=0).mean()
            for share, need in ((0.2, {0: 1}), (0.1, {1: 1}), (0.05, {0: 1, 1: 2}))
        )
    assert tour.finished(stock) == pytest.approx(total, rel=5e-3)


def test_model_is_near_a_tour_played_job_by_job():
    # Parts as common as the commonest of a van: some are used in one job of fifteen.
    patterns = [(0.06, {0: 1}), (0.03, {1: 1}), (0.02, {0: 1, 1: 1})]
    tour, stock = Tour(needs_of(patterns, 2), 5), np.array([1, 1])
    rng = np.random.default_rng(2)
    shares = np.array([share for share, _ in patterns])
    drawn = rng.choice(4, p=[*shares, 1 - shares.sum()], size=(100_000, 5))
    finished = 0
    for jobs in drawn:
        left = stock.copy()
        for job in jobs:
            if job < 3:
                need = patterns[job][1]
                if all(left[part] >= pieces for part, pieces in need.items()):
                    finished += 1
                for part, pieces in need.items():
                    # A job that takes a second trip uses what is there all the same.
                    left[part] -= min(pieces, left[part])
    assert tour.finished(stock) == pytest.approx(finished / len(drawn), rel=0.02)


def test_single_job_between_restocks_needs_one_of_each():
    tour = Tour(needs_of([(0.3, {0: 1}), (0.1, {1: 1}), (0.1, {0: 1, 1: 1})], 2), 1)
    assert tour.most.tolist() == [1, 1]
    assert tour.finished([1, 0]) == pytest.approx(0.3)
    assert tour.finished([1, 1]) == pytest.approx(0.5)


def test_parts_that_are_only_of_use_together_are_found():
    # One by one worthless, together the best buy.
    tour = Tour(needs_of([(0.3, {0: 1, 1: 1}), (0.05, {2: 1})], 3), 1)
    choice = choose(tour, Limits(np.array([10.0, 10.0, 10.0]), np.ones(3), budget=20))
    assert choice.stock.tolist() == [1, 1, 0]


def share_of_the_best(seed, *, exactly):
    """What the choice finishes, as a share of what the best stock does; by the way of large cases, or of small ones."""
    tour, limits = case(seed)
    exact = tour.finished(best_stock(tour, limits))
    with pytest.MonkeyPatch.context() as patch:
        if not exactly:
            patch.setattr(van_choice, "SMALL", 0)
        choice = choose(tour, limits)
    assert limits.allows(choice.stock)
    assert choice.finished >= tour.finished(most_used(tour, limits)) - 1e-12
    assert upper_bound(tour, limits) >= exact - 1e-9
    assert choice.bound >= exact - 1e-9
    return choice.finished / exact if exact else 1.0


@pytest.mark.parametrize("seed", range(SEEDS))
def test_choice_of_a_small_case_is_the_best(seed):
    assert share_of_the_best(seed, exactly=True) >= 1 - 1e-7


def test_the_way_of_large_cases_is_within_one_in_a_hundred_of_the_best():
    shares = [share_of_the_best(seed, exactly=False) for seed in range(SEEDS)]
    assert min(shares) >= 0.99


@pytest.mark.full
def test_both_ways_on_two_hundred_cases():
    shares = [share_of_the_best(seed, exactly=False) for seed in range(ALL_SEEDS)]
    # One of the 200 lies below one in a hundred (0.9886), which the exact way of small cases mends.
    assert np.mean(shares) >= 0.999
    assert sum(share < 0.99 for share in shares) <= 1
    assert min(share_of_the_best(seed, exactly=True) for seed in range(ALL_SEEDS)) >= 1 - 1e-7


@pytest.mark.parametrize("limit", ["budget", "lines"])
def test_bound_of_a_large_case_is_close(limit):
    # 300 parts, jobs that need up to three of them: what the choice finishes is shown to be within one in a hundred.
    rng = np.random.default_rng(9)
    weight = 1 / np.arange(1, 301)
    patterns = [
        (
            float(rng.gamma(0.5) * 4e-4),
            dict.fromkeys(
                rng.choice(300, rng.choice([1, 1, 2, 3]), replace=False, p=weight / weight.sum()).tolist(),
                1,
            ),
        )
        for _ in range(1500)
    ]
    tour = Tour(needs_of(patterns, 300, shape=20.0), 5)
    cost = rng.lognormal(3, 1, 300)
    bound = {"budget": 1200.0} if limit == "budget" else {"lines": 60}
    choice = choose(tour, Limits(cost, np.ones(300), **bound))
    assert 0.0 <= choice.gap <= 0.01


@pytest.mark.parametrize("seed", range(8))
def test_exact_answer_is_that_of_trying_every_stock(seed):
    tour, limits = case(seed, parts=3)
    tried = [
        tour.finished(stock)
        for stock in product(*(range(int(most) + 1) for most in tour.most))
        if limits.allows(np.array(stock))
    ]
    assert tour.finished(best_stock(tour, limits)) == pytest.approx(max(tried), rel=1e-7)


def test_without_limits_everything_useful_is_carried():
    tour, limits = case(3)
    free = Limits(limits.cost, limits.volume)
    choice = choose(tour, free)
    assert choice.finished == pytest.approx(tour.finished(tour.most), rel=1e-4)


def test_steps_rise_in_money_and_jobs():
    tour, limits = case(4)
    steps = choose(tour, Limits(limits.cost, limits.volume, budget=150)).steps
    assert [step.cost for step in steps] == sorted(step.cost for step in steps)
    assert [step.finished for step in steps] == sorted(step.finished for step in steps)
    assert steps[-1].cost <= 150


def test_no_money_buys_nothing():
    tour, limits = case(5)
    assert choose(tour, Limits(limits.cost, limits.volume, budget=0)).stock.sum() == 0
