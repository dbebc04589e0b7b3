"""Life curves with competing events: published numbers, the interval's rule and the edges."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.competing import (
    CENSORED,
    Entries,
    curves_from_cells,
    curves_from_records,
    incidence_of_records,
    probability_by,
)
from pipeline.estimators.proportions import wilson


def one_group(time, cause, **options):
    return curves_from_records(np.zeros(len(time), dtype=int), time, cause, groups=1, **options)


def at(curves, column, times):
    return column[np.isin(curves.time, times)]


def test_six_mp_survival_and_greenwood(reference):
    # Freireich 1963 / Gehan 1965 as tabled in Kleinbaum & Klein and in Collett: S and its SE are memory.
    data = reference("km_6mp")
    curves = one_group(data["weeks"], data["relapse"] - 1)
    times = [6, 7, 10, 13, 16, 22, 23]
    assert_array_equal(at(curves, curves.at_risk, times), [21, 17, 15, 12, 11, 7, 6])
    assert_array_equal(at(curves, curves.events[:, 0], times), [3, 1, 1, 1, 1, 1, 1])
    survival = [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448]
    assert_allclose(at(curves, curves.survival, times), survival, atol=5e-4)
    se = [np.sqrt(probability_by(curves, day).variance[0]) for day in times]
    assert_allclose(se, [0.0764, 0.0869, 0.0963, 0.1068, 0.1141, 0.1282, 0.1346], atol=6e-5)
    # Recomputed; S checked with lifelines 0.30.3.
    survival = [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179]
    assert_allclose(at(curves, curves.survival, times), survival, atol=5e-7)
    assert_allclose(se, [0.076360, 0.086935, 0.096350, 0.106815, 0.114054, 0.128234, 0.134591], atol=5e-7)


def test_automotive_survival_and_normal_limits(reference):
    # Documentation of the Python library `reliability`, "Kaplan-Meier", example 1: read. Limits S +- 1.96 SE
    # in [0, 1].
    data = reference("km_automotive")
    curves = one_group(data["miles"], data["failed"] - 1)
    times = [5248, 7454, 17200, 38700, 45000, 49390, 69040, 72280, 131900]
    survival = np.array(
        [0.964286, 0.925714, 0.845217, 0.795499, 0.742465, 0.685353, 0.616817, 0.539715, 0.269858]
    )
    assert_array_equal(at(curves, curves.at_risk, times), [28, 25, 22, 17, 15, 13, 10, 8, 2])
    assert_allclose(at(curves, curves.survival, times), survival, atol=5e-7)
    se = np.sqrt([probability_by(curves, day).variance[0] for day in times])
    # Recomputed.
    expected = [0.0350707, 0.0506140, 0.0713706, 0.0826962, 0.0926405, 0.101605, 0.112203, 0.121822, 0.200304]
    assert_allclose(se, expected, atol=5e-7)
    low = [0.895548, 0.826513, 0.705334, 0.633417, 0.560893, 0.486210, 0.396904, 0.300949, 0]
    high = [1, 1, 0.985101, 0.957580, 0.924037, 0.884496, 0.836731, 0.778481, 0.662446]
    assert_allclose(np.clip(at(curves, curves.survival, times) - 1.959964 * se, 0, 1), low, atol=2e-6)
    assert_allclose(np.clip(at(curves, curves.survival, times) + 1.959964 * se, 0, 1), high, atol=2e-6)


def test_competing_risks_worked_by_hand(reference):
    # testci.R in the test suite of the R package `survival`: read.
    data = reference("competing_risks_tiny")
    curves = one_group(data["time"], data["cause"] - 1, causes=2)
    expected = {1: (1, 0, 0), 2: (6 / 7, 1 / 7, 0), 3: (18 / 35, 1 / 7, 12 / 35)}
    expected |= {5: (18 / 35, 1 / 7, 12 / 35), 6: (0, 1 / 7, 6 / 7)}
    for time, row in expected.items():
        here = curves.time == time
        assert_allclose([*curves.survival[here], *curves.incidence[here][0]], row, atol=1e-15)


@pytest.mark.parametrize("stretch", [1, 1_000_000])
def test_more_records_than_are_placed_at_a_time_are_counted_exactly(stretch):
    # Days a million times as far apart do not fit into a plain table of all days.
    rng = np.random.default_rng(5)
    group, time, cause = (
        rng.integers(0, 40, 150_000),
        rng.integers(0, 90, 150_000),
        rng.integers(-1, 2, 150_000),
    )
    curves = curves_from_records(group, time * stretch, cause, groups=40, causes=2)
    counted = np.zeros((40, 90, 3), dtype=int)
    np.add.at(counted, (group, time, cause), 1)
    assert_array_equal(counted[curves.group, curves.time // stretch, :2], curves.events)
    assert_array_equal(counted[curves.group, curves.time // stretch, 2], curves.censored)
    assert curves.events.sum() + curves.censored.sum() == 150_000


TEN_DAYS = np.array([5, 12, 20, 30, 45, 60, 90, 90, 90, 90])
TEN_CAUSES = np.array([0, -1, 0, -1, -1, 0, -1, -1, -1, -1])


def test_ten_jobs_followed_for_different_times():
    # Computed apart, with SciPy 1.17; the naive share is 3 / 10.
    curves = one_group(TEN_DAYS, TEN_CAUSES)
    results = [probability_by(curves, day) for day in (5, 20, 60)]
    assert_allclose([result.value[0] for result in results], [0.1, 0.2125, 0.37], atol=1e-12)
    assert_allclose(np.sqrt([result.variance[0] for result in results]), [0.0949, 0.134, 0.177], atol=5e-4)


def test_ten_jobs_of_which_one_came_back_with_another_fault():
    # Computed apart, with SciPy 1.17.
    curves = one_group(TEN_DAYS, np.where(TEN_DAYS == 20, 1, TEN_CAUSES), causes=2)
    assert_allclose([probability_by(curves, day).value[0] for day in (5, 20, 60)], [0.1, 0.1, 0.2575])
    assert_allclose(probability_by(curves, 60, causes=(1,)).value, 0.1125)
    assert_allclose(curves.survival[-1], 0.63)


def test_any_return_is_same_fault_plus_other():
    rng = np.random.default_rng(2)
    group, time, cause = rng.integers(0, 9, 400), rng.integers(0, 100, 400), rng.integers(-1, 3, 400)
    curves = curves_from_records(group, time, cause, groups=9, causes=3)
    same, other, both = (probability_by(curves, 30, causes) for causes in ((0,), (1,), (0, 1)))
    assert_allclose(same.value + other.value, both.value, rtol=1e-14)
    assert_array_equal(same.events + other.events, both.events)


def test_where_all_were_followed_the_interval_is_wilsons():
    result = incidence_of_records([0] * 40, [10] * 7 + [90] * 33, [0] * 7 + [CENSORED] * 33, groups=1, day=30)
    assert_allclose(result.n_eff, 40, rtol=1e-12)
    assert_allclose((result.low[0], result.high[0]), wilson(7, 40), rtol=1e-9)
    assert (result.events[0], result.at_risk[0], result.n[0]) == (7, 33, 40)


def test_without_an_event_the_size_is_halfway_between_followed_and_all():
    result = incidence_of_records([0] * 10, [5] * 4 + [40] * 6, [CENSORED] * 10, groups=1, day=30)
    assert result.n_eff == (6 + 10) / 2
    assert_allclose((result.low[0], result.high[0]), wilson(0, 8))


def test_where_everything_failed_the_size_counts_the_known():
    # Two censored before day 9 are not known to have failed by then.
    result = incidence_of_records([0] * 6, [1, 2, 3, 4, 7, 9], [0, -1, 0, -1, 0, 0], groups=1, day=9)
    assert (result.value[0], result.n_eff[0]) == (1, 4)


def test_size_is_kept_between_the_number_at_risk_and_all():
    rng = np.random.default_rng(8)
    group, time, cause = rng.integers(0, 300, 3000), rng.integers(0, 60, 3000), rng.integers(-1, 2, 3000)
    result = incidence_of_records(group, time, cause, groups=300, n_causes=2, day=30)
    assert (result.at_risk <= result.n_eff).all()
    assert (result.n_eff <= result.n).all()
    assert (result.low <= result.value).all()
    assert (result.value <= result.high).all()


@pytest.mark.parametrize(("day", "value"), [(29, 0.0), (30, 0.5), (31, 0.5)])
def test_day_d_counts_within_d(day, value):
    assert incidence_of_records([0, 0], [30, 30], [0, CENSORED], groups=1, day=day).value == value


def test_an_event_comes_before_a_censoring_of_the_same_day():
    curves = one_group([3, 3, 3], [0, CENSORED, CENSORED])
    assert (curves.at_risk[0], curves.survival[0]) == (3, 2 / 3)


def test_a_report_on_the_day_of_the_fix_is_day_0():
    result = incidence_of_records([0, 0], [0, 50], [0, CENSORED], groups=1, day=0)
    assert (result.value[0], result.events[0], result.at_risk[0]) == (0.5, 1, 2)


def test_delayed_entry_counts_only_from_then_on():
    # Records enter after day 2 and after day 4: on day 4 one of two is at risk.
    curves = one_group([4, 9], [0, CENSORED], entry=[2, 4])
    assert_array_equal(curves.at_risk[curves.time == 4], [1])
    assert probability_by(curves, 4).value == 1
    assert probability_by(curves, 3).n == 1


def test_a_record_that_ends_with_its_entry_was_never_at_risk():
    result = incidence_of_records([0, 0], [5, 8], [0, CENSORED], groups=1, day=9, entry=[5, -1])
    assert (result.n[0], result.value[0]) == (1, 0)


def test_cells_and_records_give_the_same_curves():
    rng = np.random.default_rng(3)
    group, time, cause = rng.integers(0, 5, 200), rng.integers(3, 30, 200), rng.integers(-1, 2, 200)
    entry = rng.integers(-1, 3, 200)
    records = curves_from_records(group, time, cause, groups=5, causes=2, entry=entry)
    events = np.column_stack([cause == 0, cause == 1]).astype(int)
    entries = Entries(group, entry, np.ones(200, dtype=int))
    cells = curves_from_cells(group, time, events, cause == CENSORED, groups=5, entries=entries)
    for first, second in zip(records, cells, strict=True):
        assert_array_equal(first, second)


def test_one_group_does_not_touch_another():
    rng = np.random.default_rng(4)
    group, time, cause = rng.integers(0, 7, 500), rng.integers(0, 80, 500), rng.integers(-1, 2, 500)
    together = incidence_of_records(group, time, cause, groups=7, n_causes=2, day=30)
    for number in range(7):
        own = group == number
        alone = incidence_of_records(0 * group[own], time[own], cause[own], groups=1, n_causes=2, day=30)
        for first, second in zip(together, alone, strict=True):
            assert_array_equal(first[number], second[0])


def test_groups_without_records_have_an_answer():
    result = incidence_of_records([1], [5], [0], groups=3, day=30)
    assert_array_equal(result.n, [0, 1, 0])
    assert_array_equal(result.followed_to, [-1, 5, -1])
    assert (result.low[0], result.value[0], result.high[0], result.n_eff[0]) == (0, 0, 1, 0)
    nothing = incidence_of_records([], [], [], groups=2, day=30)
    assert_array_equal(nothing.high, [1, 1])


def test_each_group_can_have_its_own_day():
    result = incidence_of_records([0, 1], [20, 20], [0, 0], groups=2, day=[10, 30])
    assert_array_equal(result.value, [0, 1])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"group": [0, 5]}, "group must be between 0 and 0, but reached 0 to 5"),
        ({"time": [1, -1]}, "time must be at least 0, but was -1"),
        ({"time": [1, 1.5]}, "time must be whole, but was 1.5"),
        ({"cause": [0, 1]}, "cause must be between -1 and 0, but reached 0 to 1"),
        ({"cause": [0]}, "cause must be as long as group"),
        ({"day": -1}, "day must be at least 0, but was -1"),
        ({"causes": (3,)}, "causes must be different numbers of 0 to 0, but was"),
        ({"level": 95}, "level must be between 0 and 1, but was 95"),
    ],
)
def test_what_cannot_be_is_refused_by_name(change, words):
    given = {"group": [0, 0], "time": [1, 2], "cause": [0, -1], "day": 3, "groups": 1} | change
    with pytest.raises(ValueError, match=words):
        incidence_of_records(**given)


def test_more_ends_than_entries_are_refused():
    with pytest.raises(ValueError, match="more records ended than had entered"):
        curves_from_cells([0], [5], [2], [0], groups=1, entries=Entries([0], [0], [1]))
