"""Base stock, ready rate, period fill: published examples, and sums over the distribution itself."""

import numpy as np
import pytest
from scipy import stats

from pipeline.planning.base_stock import (
    Demand,
    at_most,
    base_stock_for_ready_rate,
    compound,
    critical_ratio,
    expected_cost,
    over_lead_time,
    period_fill,
    period_fill_ordering,
    poisson,
    probability_of_none,
    ready_rate,
    ready_rate_ordering,
    reorder_point_for_ready_rate,
    smallest_level,
)

# Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., examples as quoted in the documentation of stockpyl 1.0.2.
PUBLISHED = [(50, 0.18, 0.70, 56, 1.797235211809178), (6, 1, 4, 8, 3.5701069457709416)]


@pytest.mark.parametrize(("mean", "holding", "short", "level", "cost"), PUBLISHED)
def test_published_newsvendor(mean, holding, short, level, cost):
    demand = poisson(mean)
    assert smallest_level(demand, critical_ratio(short, holding)).item() == level
    assert expected_cost(demand, level, short, holding).item() == pytest.approx(cost, abs=1e-9)


def test_published_cost_of_too_little():
    # The same example 4.7 at S = 5.
    assert expected_cost(poisson(6), 5, 4, 1).item() == pytest.approx(6.590296024616343, abs=1e-9)


@pytest.mark.parametrize(
    ("level", "enough", "ready", "fill"),
    [
        (8, 0.847237, 0.743980, 0.947663),
        (5, 0.445680, 0.285057, 0.746990),
        (10, 0.957379, 0.916076, 0.987111),
    ],
)
def test_ready_rate_and_period_fill_are_two_things(level, enough, ready, fill):
    # Recomputed from the Poisson distribution with mean 6.
    demand = poisson(6)
    assert at_most(demand, level).item() == pytest.approx(enough, abs=5e-7)
    assert ready_rate(demand, level).item() == pytest.approx(ready, abs=5e-7)
    assert period_fill(demand, level).item() == pytest.approx(fill, abs=5e-7)


def test_uncertain_rate_is_negative_binomial():
    # Gamma(4.5, rate 12) over a lead time of 2: mean 0.75, cdf .4997 .8210 .9472 .9863 .9967 (computed with SciPy 1.17).
    demand = over_lead_time(4, 12, 2)
    assert demand.mean.item() == pytest.approx(0.75)
    assert [round(at_most(demand, n).item(), 4) for n in range(5)] == [0.4997, 0.8210, 0.9472, 0.9863, 0.9967]


def test_newsvendor_quantiles_of_slow_parts():
    # C_u = 60, C_o = 4: 0.9375; Poisson means 0.1, 0.5, 1.2, 3 give 1, 2, 3, 6 (computed with SciPy 1.17).
    assert smallest_level(poisson([0.1, 0.5, 1.2, 3]), critical_ratio(60, 4)).tolist() == [1, 2, 3, 6]


def test_period_fill_of_a_slow_part():
    # Poisson mean 1.2, s = 0 … 4 (computed with SciPy 1.17).
    demand = Demand(np.full(5, 1.2), np.full(5, np.inf))
    assert period_fill(demand, np.arange(5)) == pytest.approx([0, 0.5823, 0.8635, 0.9639, 0.9921], abs=5e-5)


def test_period_fill_is_that_of_the_sum_over_the_distribution():
    demand = Demand(np.array([2.5]), np.array([1.7]))
    n = np.arange(2000)
    weight = stats.nbinom.pmf(n, 1.7, 1.7 / 4.2)
    for level in range(8):
        assert period_fill(demand, level).item() == pytest.approx((np.minimum(n, level) * weight).sum() / 2.5)


def test_base_stock_reaches_the_ready_rate_and_one_less_does_not():
    demand = over_lead_time([0, 3, 40], [2, 2, 2], [0.1, 0.1, 0.1])
    level = base_stock_for_ready_rate(demand, 0.95)
    assert (ready_rate(demand, level) >= 0.95).all()
    assert (ready_rate(demand, level - 1) < 0.95).all()


def test_part_never_wanted_may_still_be():
    demand = over_lead_time(0, 2, 2)
    # Jeffreys: (b / (b + L)) ** 0.5 with b = 2 years and L = 2 years.
    assert probability_of_none(demand).item() == pytest.approx(0.5**0.5)


def test_probability_of_one_is_refused():
    with pytest.raises(ValueError, match="below 1"):
        smallest_level(poisson(1), 1.0)


def test_compound_demand_has_the_mean_and_variance_of_a_sum_of_jobs():
    # Ten jobs in two years, one or three pieces each with equal chance; the rate of the jobs is a gamma, over half a year.
    found = compound([10], [2], [2.0], [5.0], [0.5])
    rng = np.random.default_rng(3)
    jobs = rng.poisson(rng.gamma(10.5, 1 / 2, 400_000) * 0.5)
    pieces = jobs + 2 * rng.binomial(jobs, 0.5)
    mean = found.mean.item()
    assert mean == pytest.approx(pieces.mean(), rel=0.01)
    assert mean + mean**2 / found.shape.item() == pytest.approx(pieces.var(), rel=0.02)


def test_compound_demand_of_single_pieces_is_the_plain_one():
    assert compound([4], [1], [1.0], [1.0], [0.2]) == over_lead_time([4], [1], [0.2])


def test_least_order_of_one_is_a_base_stock():
    demand = over_lead_time([0, 3, 40], [2, 2, 2], [0.1, 0.1, 0.1])
    point = reorder_point_for_ready_rate(demand, 0.95, [1, 1, 1])
    assert point.tolist() == (base_stock_for_ready_rate(demand, 0.95) - 1).tolist()
    assert ready_rate_ordering(demand, point, 1) == pytest.approx(ready_rate(demand, point + 1))
    assert period_fill_ordering(demand, point, 1) == pytest.approx(period_fill(demand, point + 1))


def test_ready_rate_with_a_least_order_is_that_of_a_shelf_played_piece_by_piece():
    # One piece at a time, 2 on average in a lead time of 1; five ordered when stock and orders fall to 2.
    rng = np.random.default_rng(6)
    point, least, shelf, arriving, ready = 2, 5, 7, [], 0
    times = np.cumsum(rng.exponential(0.5, 60_000))
    for now in times:
        shelf += least * sum(at <= now for at in arriving)
        arriving = [at for at in arriving if at > now]
        ready += shelf > 0
        shelf -= 1
        if shelf + least * len(arriving) <= point:
            arriving.append(now + 1.0)
    assert ready_rate_ordering(poisson(2.0), point, least).item() == pytest.approx(
        ready / len(times), abs=0.01
    )


def test_larger_orders_need_a_lower_reorder_point():
    demand = poisson([2.0, 2.0, 2.0])
    point = reorder_point_for_ready_rate(demand, 0.95, [1, 5, 50])
    assert (np.diff(point) <= 0).all()
    assert (ready_rate_ordering(demand, point, [1, 5, 50]) >= 0.95).all()
    lower = np.maximum(point - 1, 0)
    assert ((ready_rate_ordering(demand, lower, [1, 5, 50]) < 0.95) | (point == 0)).all()
