"""Cumulative sums: by hand, and false alarms over simulated years against the stated number."""

import numpy as np
import pytest

from pipeline.estimators.cusum import FEWEST_BEFORE, expected_between, limit_for, run_chart

YEARS, ALL_YEARS = 25, 100


def test_sum_by_hand():
    # Down by what is expected (tuned to twice: 1 an event expected), up by log 2 = 0.693 an event.
    chart = run_chart([1.0, 0.1, 0.1, 0.1], limit=2.0)
    assert chart.highest == pytest.approx(4 * np.log(2) - 0.3)
    assert (chart.told_at, chart.since_at) == (3, 0)
    assert run_chart([1.0, 0.1, 0.1, 0.1], limit=2.5).told_at is None


def test_change_is_dated_from_where_the_sum_left_nought():
    chart = run_chart([5, 5, 5, 0.1, 0.1, 0.1, 0.1, 0.1], limit=2.5)
    assert (chart.told_at, chart.since_at) == (6, 2)


def test_expected_between_events_of_one_day_is_nothing():
    between = expected_between([3, 3, 5], [1, 2, 3, 4, 5, 6], [1, 1, 1, 2, 2, 9])
    # Up to the middle of day 3: 1 + 1 + 1/2; from there to the middle of day 5: 1/2 + 2 + 2/2.
    assert between.tolist() == [2.5, 0, 3.5]


def test_limit_grows_with_what_the_baseline_leaves_open():
    limits = [limit_for(0.02, 20.0, before) for before in (10, 40, 1000)]
    assert limits == sorted(limits, reverse=True)


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_limit_refuses_what_is_no_probability(share):
    with pytest.raises(ValueError, match="share must be between 0 and 1"):
        limit_for(share, 10.0, 20)


def told(seed, years, change=1.0):
    """Charts told of 40 parts over so many firms' years, one false alarm a year stated; baselines of 18 months."""
    rng = np.random.default_rng(seed)
    alarms, looked_at, found = 0, 0, []
    for _ in range(years):
        rate = rng.uniform(8, 60, 40)
        before = rng.poisson(rate * 1.5)
        watched = before >= FEWEST_BEFORE
        for one, count in zip(rate[watched], before[watched], strict=True):
            usual = (count + 0.5) / 1.5
            limit = limit_for(1.0 / watched.sum(), usual, int(count))
            events = rng.poisson(one * change)
            gaps = np.diff(np.sort(rng.random(events)), prepend=0.0) * usual
            found.append(run_chart(gaps, limit).told_at is not None)
        looked_at += int(watched.sum())
    alarms = sum(found)
    return alarms / years, alarms / looked_at


def test_false_alarms_are_about_as_many_as_stated():
    assert 0.5 <= told(1, YEARS)[0] <= 1.6


@pytest.mark.full
def test_false_alarms_over_a_hundred_years():
    """100 years of 40 parts with 8 to 60 failures a year, each with a baseline of its own."""
    alarms = [told(seed, ALL_YEARS)[0] for seed in range(5)]
    print(alarms, told(9, ALL_YEARS, change=3.0))
    assert 0.8 <= np.mean(alarms) <= 1.2


def test_tripled_rate_is_told_within_the_year():
    assert told(2, 5, change=3.0)[1] >= 0.85
