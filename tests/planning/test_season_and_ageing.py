"""Season and ageing: needs that follow the year or the age are told, machines counted by age as one by one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.planning import ageing
from pipeline.planning.season import DAYS_A_YEAR, season


def wave_days(seed, jobs, depth, days=3 * 366):
    """Days of jobs that are commonest at the turn of the year."""
    rng = np.random.default_rng(seed)
    day = rng.uniform(0, days, jobs * 4)
    keep = rng.uniform(0, 1 + depth, len(day)) < 1 + depth * np.cos(2 * np.pi * day / DAYS_A_YEAR)
    return np.floor(day[keep][:jobs])


def test_winter_part_is_wanted_more_in_the_winter_to_come():
    day = wave_days(1, 300, 0.8)
    found = season(np.zeros(len(day)), day, 3 * 366, 1)
    assert found.is_shown[0]
    # The log ends on New Year: 91 days ahead lie on the falling side, 182 to a whole year balance out.
    true = 1 + 0.8 * np.cos(2 * np.pi * np.arange(91) / DAYS_A_YEAR).mean()
    assert found.ahead(91)[0] == pytest.approx(true, abs=0.15)
    assert found.ahead(DAYS_A_YEAR)[0] == pytest.approx(1.0, abs=0.01)


def test_no_season_below_24_months_and_none_where_there_is_none():
    day = wave_days(2, 300, 0.8, days=700)
    assert season(np.zeros(len(day)), day, 700, 1).ahead(30).tolist() == [1.0]
    even = np.arange(0, 3 * 366, 4.0)
    assert not season(np.zeros(len(even)), even, 3 * 366, 1).is_shown.any()


def test_a_firm_that_grows_has_no_season():
    # Twice as many jobs in the second of two years, evenly over each.
    day = np.concatenate([np.arange(0, 365, 4.0), np.arange(365, 730, 2.0)])
    assert not season(np.zeros(len(day)), day, 731, 1).is_shown.any()


MACHINES = st.lists(
    st.tuples(st.integers(0, 1), st.integers(-9000, 900), st.integers(0, 900), st.integers(1, 4000)),
    min_size=1,
    max_size=12,
)


def of(rows):
    kind, born, later, stay = (np.array(column) for column in zip(*rows, strict=True))
    enter = np.maximum(born, 0) + later
    leave = np.where(stay > 2000, np.inf, enter + stay)
    return ageing.Machines(kind, born.astype(float), enter.astype(float), leave)


@given(MACHINES, st.integers(0, 500), st.integers(1, 900))
def test_machine_years_by_age_are_those_counted_day_by_day(rows, start, length):
    machines = of(rows)
    counted = np.zeros((2, ageing.AGES))
    for kind, born, enter, leave in zip(*machines, strict=True):
        for day in range(start, start + length):
            if enter <= day < leave:
                age = min(int((day - born) // DAYS_A_YEAR), ageing.AGES - 1)
                counted[kind, age] += 1 / DAYS_A_YEAR
    found = ageing.years_by_age(machines, start, start + length, 2)
    # A birthday falls within a day.
    assert found == pytest.approx(counted, abs=len(rows) * 1.01 / DAYS_A_YEAR)
    assert found.sum() == pytest.approx(counted.sum())


def test_machines_that_never_leave_are_there_in_every_year_and_a_year_older():
    machines = ageing.Machines(np.zeros(4, np.int64), np.full(4, -900.0), np.zeros(4), np.full(4, np.inf))
    ahead = ageing.years_ahead(machines, 1.0, 3, 1)
    assert ahead.sum(axis=(1, 2)).tolist() == [4.0, 4.0, 4.0]
    assert np.flatnonzero(ahead[0, 0]).tolist() == [2, 3]
    assert np.flatnonzero(ahead[2, 0]).tolist() == [4, 5]


def test_machines_leave_ahead_as_they_left_so_far():
    # 400 machines, a tenth of those left goes each year over five years.
    rng = np.random.default_rng(4)
    leave = rng.exponential(1 / -np.log(0.9), 4000) * DAYS_A_YEAR
    end = 5 * DAYS_A_YEAR
    machines = ageing.Machines(
        np.zeros(4000, np.int64), np.full(4000, -10.0), np.zeros(4000), np.where(leave < end, leave, np.inf)
    )
    ahead = ageing.years_ahead(machines, end, 4, 1).sum(axis=(1, 2))
    assert ahead[1:] / ahead[:-1] == pytest.approx(0.9, abs=0.02)


def test_part_that_wears_out_is_wanted_more_as_the_machines_age():
    # 2,000 machines of 4 years, watched for three; needs rise with the square of the age.
    rng = np.random.default_rng(5)
    machines = ageing.Machines(
        np.zeros(2000, np.int64), rng.uniform(-2500, -400, 2000), np.zeros(2000), np.full(2000, np.inf)
    )
    past = ageing.years_by_age(machines, 0, 3 * DAYS_A_YEAR, 1)
    rate = 0.002 * (np.arange(ageing.AGES) + 1.0) ** 2
    shape = ageing.age_shape(rng.poisson(past * rate), past)
    assert shape.is_shown[0]
    assert shape.slope[0, 0] == pytest.approx(2.0, abs=0.3)
    ahead = ageing.years_ahead(machines, 3 * DAYS_A_YEAR, 1, 1)[0]
    growth = ageing.expected(shape, ahead) / (ageing.expected(shape, past) / 3)
    assert growth[0] == pytest.approx((ahead * rate).sum() / ((past * rate).sum() / 3), rel=0.08)
    assert growth[0] > 1.3
