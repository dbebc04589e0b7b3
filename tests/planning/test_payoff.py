"""What pays after returns: the worked example, and jobs drawn one by one."""

import numpy as np
import pytest

from pipeline.planning.payoff import (
    Fix,
    break_even_for_customer,
    break_even_hours,
    break_even_per_hour,
    break_even_per_job,
    hours_with_returns,
    per_hour,
    per_job,
)

# Computed by hand from the formulas: 35 an hour; travel 25 min, cleaning 30, replacing 40 with a part of 38; a return takes
# 65 min and a part of 38; 5 in 100 replaced ones return.
HOUR, PART = 35.0, 38.0
T_CLEAN, T_REPLACE, H_RETURN = 55 / 60, 65 / 60, 65 / 60


def fixes(price_clean, price_replace, paid_by_customer=0.0):
    cleaning = Fix(price_clean, T_CLEAN, np.nan, PART - paid_by_customer, H_RETURN)
    return cleaning, Fix(price_replace - PART, T_REPLACE, 0.05, PART, H_RETURN)


def test_cost_of_a_return():
    assert pytest.approx(1.0833, abs=5e-5) == H_RETURN
    assert pytest.approx(75.92, abs=0.005) == PART + HOUR * H_RETURN


def test_itemised_prices():
    cleaning, replacing = fixes(110, 165)
    assert break_even_per_job(cleaning, replacing, HOUR) < 0
    assert break_even_per_hour(cleaning, replacing) == pytest.approx(0.05846, abs=5e-6)


def test_one_flat_price():
    cleaning, replacing = fixes(140, 140)
    assert break_even_per_job(cleaning, replacing, HOUR) == pytest.approx(0.627, abs=5e-4)
    assert break_even_per_hour(cleaning, replacing) == pytest.approx(0.4450, abs=5e-5)


def test_part_charged_and_labour_credited_on_return():
    assert break_even_per_hour(*fixes(110, 165, 55)) == pytest.approx(0.090, abs=5e-4)
    assert break_even_per_hour(*fixes(140, 140, 55)) == pytest.approx(0.757, abs=5e-4)


def test_customer():
    # Charged again on return: a day without the machine 40, and 165.
    assert break_even_for_customer(110, 165, 165 + 40, 40, 0.05) == pytest.approx(0.278, abs=5e-4)
    # Returned free of charge, cleaning is the cheaper one at nearly any rate.
    assert break_even_for_customer(110, 165, 40, 40, 0.05) > 1


def test_return_that_costs_the_customer_nothing():
    assert break_even_for_customer(110, 165, 0, 0, 0.05) == np.inf
    assert break_even_for_customer(165, 110, 0, 0, 0.05) == -np.inf


def test_hours_turn_where_the_returns_of_cleaning_take_what_it_saves():
    # 65 + 5 % of 65 minutes against 55: 13.25 minutes are 20.38 % of a return of 65.
    assert float(break_even_hours(*fixes(110, 165))) == pytest.approx(13.25 / 65)


def test_return_that_costs_nothing_never_turns_a_lead():
    free = Fix(110, 1, np.nan, 0, 0)
    assert float(break_even_per_job(free, Fix(100, 1, 0.1, 0, 0), HOUR)) == np.inf
    assert float(break_even_hours(free, Fix(100, 0.5, 0.1, 0, 0))) == -np.inf


@pytest.mark.parametrize(("prices", "q"), [((110, 165), 0.05846), ((140, 140), 0.4450), ((140, 140), 0.30)])
def test_break_even_is_that_of_simulated_jobs(prices, q):
    """A hundred thousand jobs of each fix, returns tossed one by one: money and hours added up."""
    rng = np.random.default_rng(1)
    cleaning, replacing = fixes(*prices)
    cleaning = cleaning._replace(return_probability=q)
    earned = []
    for fix in (cleaning, replacing):
        back = rng.random(100_000) < fix.return_probability
        money = 100_000 * fix.margin - back.sum() * fix.return_cost
        hours = 100_000 * fix.hours + back.sum() * fix.return_hours
        earned.append((money / hours, (money - HOUR * hours) / 100_000))
    (hour_clean, job_clean), (hour_replace, job_replace) = earned
    assert hour_clean == pytest.approx(float(per_hour(cleaning)), rel=0.005)
    assert job_replace == pytest.approx(float(per_job(replacing, HOUR)), rel=0.005)
    even = float(break_even_per_hour(cleaning, replacing))
    if abs(q - even) > 0.01:
        assert (hour_clean > hour_replace) == (q < even)
    else:
        assert hour_clean == pytest.approx(hour_replace, rel=0.005)
    assert (job_clean > job_replace) == (q < float(break_even_per_job(cleaning, replacing, HOUR)))


def test_arrays_go_through_whole():
    fix = Fix([100, 50], [1, 2], [0.1, 0], [20, 20], [1, 1])
    assert per_hour(fix) == pytest.approx([98 / 1.1, 25])
    assert hours_with_returns(fix) == pytest.approx([1.1, 2])


JOBS = 100_000


def turning_rate(prices, paid, figure):
    """The return rate at which a hundred thousand cleaned jobs are as good as as many replaced ones, found by trying rates."""
    rng = np.random.default_rng(7)
    chance, minutes = rng.random((2, JOBS)), rng.lognormal(-0.08, 0.4, size=(2, JOBS))
    # Every job's and every return's own time, with the means of the example.
    cleaning = prices[0], 0.0, T_CLEAN * minutes[0], chance[0], paid
    replacing = prices[1], PART, T_REPLACE * minutes[1], chance[1], 0.0

    def outcome(q, job):
        price, part, hours, drawn, credit = job
        back = drawn < q
        money = price - part - back * (PART - credit)
        return money, hours + back * H_RETURN, price + back * (40.0 + credit)

    swapped = figure(*outcome(0.05, replacing))
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if figure(*outcome(middle, cleaning)) > swapped else (low, middle)
    return (low + high) / 2


def net_of_a_job(money, hours, _spent):
    return float((money - HOUR * hours).mean())


def money_of_an_hour(money, hours, _spent):
    return float(money.sum() / hours.sum())


@pytest.mark.parametrize(
    ("prices", "paid", "figure", "rate"),
    [
        ((140, 140), 0, net_of_a_job, lambda c, r: break_even_per_job(c, r, HOUR)),
        ((110, 165), 0, money_of_an_hour, break_even_per_hour),
        ((140, 140), 0, money_of_an_hour, break_even_per_hour),
        ((110, 165), 55, money_of_an_hour, break_even_per_hour),
        ((140, 140), 55, money_of_an_hour, break_even_per_hour),
        ((110, 165), 0, lambda _m, hours, _s: -float(hours.mean()), break_even_hours),
    ],
)
def test_break_evens_are_those_of_a_hundred_thousand_jobs_played_one_by_one(prices, paid, figure, rate):
    found = turning_rate(prices, paid, figure)
    assert found == pytest.approx(float(rate(*fixes(*prices, paid))), abs=0.006)


def test_customers_break_even_is_that_of_a_hundred_thousand_jobs_played_one_by_one():
    found = turning_rate((110, 165), 55, lambda _m, _h, spent: -float(spent.mean()))
    assert found == pytest.approx(float(break_even_for_customer(110, 165, 95, 40, 0.05)), abs=0.006)
