"""Mean cumulative function: published numbers, the plain sum over machines, and the edges."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.mcf import (
    Happenings,
    Windows,
    first_age_at_risk,
    mcf_difference,
    mean_cumulative,
    read_at,
)
from pipeline.estimators.rates import exact_rate


def from_rows(system, time, event):
    """Windows and events from rows that end each system with an event 0."""
    systems = np.unique(system)
    exits = np.array([time[(system == name) & (event == 0)][0] for name in systems])
    windows = Windows(np.zeros(len(systems), dtype=int), np.zeros(len(systems)), exits)
    return windows, Happenings(np.searchsorted(systems, system[event == 1]), time[event == 1])


def plain(windows, happenings, min_at_risk=1):
    """M, and its robust and Poisson variance, one machine and one age at a time; one group."""
    _, entry, leave = (np.asarray(column, dtype=float) for column in windows)
    unit, time = np.asarray(happenings.unit), np.asarray(happenings.time, dtype=float)
    amount = np.ones(len(unit)) if happenings.amount is None else np.asarray(happenings.amount, dtype=float)
    mean, deviations, rows = 0.0, np.zeros(len(entry)), []
    for age in np.unique(time):
        present = (entry < age) & (age <= leave)
        if present.sum() < min_at_risk:
            if rows:
                break
            continue
        own = np.array([amount[(unit == k) & (time == age)].sum() for k in range(len(entry))])
        mean += own.sum() / present.sum()
        deviations += present / present.sum() * (own - own.sum() / present.sum())
        rows.append((age, present.sum(), own.sum(), mean, (deviations**2).sum()))
    return np.array(rows).reshape(-1, 5).T


def test_valve_seats(reference):
    # Nelson (1995), Technometrics 37, 147. M at 61 and 76 days, 0.024 and 0.049: memory; the rest recomputed.
    data = reference("valve_seats_nelson1995")
    windows, happenings = from_rows(data["engine"], data["day"], data["replacement"])
    curve = mean_cumulative(windows, happenings, groups=1)
    assert (len(windows.exit), curve.amount.sum()) == (41, 48)
    assert_allclose(curve.value[:2], [0.024, 0.049], atol=5e-4)
    expected = """
        61 41 1 0.024390 0.024091 0.024390
        98 41 1 0.146341 0.055199 0.059744
        139 41 2 0.219512 0.073270 0.073171
        254 41 1 0.365854 0.089656 0.094463
        344 41 1 0.560976 0.114654 0.116972
        404 40 1 0.683537 0.135939 0.129178
        497 40 1 0.808537 0.149255 0.140755
        573 40 1 0.958537 0.168958 0.153499
        586 34 1 1.014264 0.173844 0.158491
        604 22 1 1.059719 0.185061 0.164880
        646 13 1 1.320465 0.228505 0.210655
        653 9 2 1.542688 0.311656 0.262806"""
    days, at_risk, amount, value, se, se_poisson = np.array(expected.split(), dtype=float).reshape(-1, 6).T
    rows = np.searchsorted(curve.time, days)
    assert_array_equal((curve.time[rows], curve.at_risk[rows], curve.amount[rows]), (days, at_risk, amount))
    assert_allclose(curve.value[rows], value, atol=5e-7)
    assert_allclose(np.sqrt(curve.variance[rows]), se, atol=5e-7)
    # What it would be if no engine differed from another: sum of d / n**2.
    poisson = np.sqrt(np.cumsum(curve.amount / curve.at_risk**2.0))
    assert_allclose(poisson[rows], se_poisson, atol=5e-7)


def test_five_systems(reference):
    # Documentation of the Python library `reliability`, "Mean cumulative function", example 1: M is read.
    data = reference("mcf_five_systems")
    curve = mean_cumulative(*from_rows(data["system"], data["time"], data["event"]), groups=1)
    assert_array_equal(curve.time, [5, 6, 10, 12, 13, 15, 16, 17, 20, 22, 25])
    expected = [0.2, 0.4, 0.6, 0.8, 1.2, 1.6, 1.8, 2.0, 2.33333, 2.66667, 3.66667]
    assert_allclose(curve.value, expected, atol=5e-6)
    # Robust standard errors: recomputed. (The documentation adds per-event variances, as if events of one
    # system were independent; only its first step, the root of 0.032, is the same.)
    se = [
        0.178885,
        0.219089,
        0.357771,
        0.334664,
        0.334664,
        0.456070,
        0.334664,
        0.4,
        0.435465,
        0.381032,
        0.381032,
    ]
    assert_allclose(np.sqrt(curve.variance), se, atol=5e-7)
    assert_allclose(curve.variance[0], 0.032, atol=5e-7)
    # The variance that the documentation prints (read) adds (1 - 1/n) / n**2 for each event: our numbers at risk give it.
    printed = np.cumsum(curve.amount * (1 - 1 / curve.at_risk) / curve.at_risk**2.0)
    places = np.searchsorted(curve.time, [5, 6, 17, 20, 22, 25])
    assert_allclose(printed[places], [0.032, 0.064, 0.32, 0.394074, 0.468148, 0.718148], atol=5e-7)


def test_staggered_entry():
    # Computed apart, with SciPy 1.17: at risk on entry < t <= exit.
    windows = Windows([0] * 4, [0, 0, 2, 1], [5, 4, 6, 3])
    curve = mean_cumulative(windows, Happenings([0, 0, 1, 2, 2], [1, 3, 2, 3, 5]), groups=1)
    assert_array_equal(curve.time, [1, 2, 3, 5])
    assert_array_equal(curve.at_risk, [2, 3, 4, 2])
    assert_allclose(curve.value, [0.5, 0.8333, 1.3333, 1.8333], atol=5e-5)


@st.composite
def fleets(draw):
    machines = draw(st.lists(st.tuples(st.integers(0, 8), st.integers(1, 12)), min_size=1, max_size=12))
    events = [
        (row, draw(st.integers(entry + 1, entry + length)), draw(st.integers(0, 5)))
        for row, (entry, length) in enumerate(machines)
        for _ in range(draw(st.integers(0, 4)))
    ]
    entry = np.array([machine[0] for machine in machines])
    windows = Windows(0 * entry, entry, entry + [machine[1] for machine in machines])
    unit, time, amount = np.array(events, dtype=int).reshape(-1, 3).T
    return windows, unit, time, amount


@given(fleets(), st.integers(1, 4), st.booleans())
def test_sums_over_ages_are_those_over_machines(fleet, min_at_risk, is_cost):
    windows, unit, time, amount = fleet
    happenings = Happenings(unit, time, amount if is_cost else None)
    curve = mean_cumulative(windows, happenings, groups=1, min_at_risk=min_at_risk)
    age, at_risk, total, mean, variance = plain(windows, happenings, min_at_risk)
    assert_array_equal((curve.time, curve.at_risk, curve.amount), (age, at_risk, total))
    assert_allclose(curve.value, mean, rtol=1e-12)
    assert_allclose(curve.variance, variance, atol=1e-12)
    assert ((curve.low >= 0) & (curve.low <= curve.value) & (curve.value <= curve.high)).all()
    assert np.isfinite(curve.high).all()


@given(fleets(), st.randoms())
def test_order_of_machines_and_events_does_not_matter(fleet, random):
    windows, unit, time, _ = fleet
    places = list(range(len(unit)))
    random.shuffle(places)
    one = mean_cumulative(windows, Happenings(unit, time), groups=1)
    other = mean_cumulative(windows, Happenings(unit[places], time[places]), groups=1)
    assert_allclose(one.value, other.value)
    assert_allclose(one.variance, other.variance, atol=1e-14)


def test_groups_do_not_touch_each_other():
    rng = np.random.default_rng(3)
    group, entry = rng.integers(0, 5, 80), rng.uniform(0, 5, 80)
    leave = entry + rng.uniform(0.1, 9, 80)
    unit = rng.integers(0, 80, 200)
    time = leave[unit] - (leave - entry)[unit] * rng.uniform(0, 0.99, 200)
    together = mean_cumulative(Windows(group, entry, leave), Happenings(unit, time), groups=6)
    for number in range(5):
        own = np.flatnonzero(group == number)
        mine = group[unit] == number
        windows = Windows(0 * own, entry[own], leave[own])
        alone = mean_cumulative(windows, Happenings(np.searchsorted(own, unit[mine]), time[mine]), groups=1)
        rows = slice(together.offsets[number], together.offsets[number + 1])
        assert_array_equal(together.at_risk[rows], alone.at_risk)
        assert_allclose(together.value[rows], alone.value)
        assert_allclose(together.variance[rows], alone.variance, atol=1e-14)
        assert_allclose(together.high[rows], alone.high)
    assert together.offsets[6] == together.offsets[5]


def test_two_replacements_of_one_machine_on_one_day_are_two():
    windows = Windows([0, 0], [0, 0], [9, 9])
    assert mean_cumulative(windows, Happenings([0, 0], [4, 4]), groups=1).value == 1


def test_the_line_starts_and_stops_with_enough_machines():
    windows = Windows([0] * 6, [0, 0, 2, 2, 2, 2], [9, 9, 5, 5, 9, 9])
    events = Happenings([0, 0, 1, 2, 4, 5], [1, 3, 4, 5, 6, 7])
    curve = mean_cumulative(windows, events, groups=1, min_at_risk=5)
    assert_array_equal(curve.time, [3, 4, 5])
    assert_allclose(curve.value, [1 / 6, 2 / 6, 3 / 6])
    assert first_age_at_risk(windows, groups=1) == 2
    assert first_age_at_risk(windows, groups=1, at_least=7) == np.inf


def test_leaving_and_entering_at_one_age_do_not_overlap():
    windows = Windows([0, 0], [0, 4], [4, 8])
    assert first_age_at_risk(windows, groups=1, at_least=2) == np.inf


def test_equal_machines_keep_the_poisson_limits():
    windows = Windows([0] * 20, np.zeros(20), np.full(20, 9.0))
    curve = mean_cumulative(windows, Happenings(np.arange(20), np.full(20, 4.0)), groups=1)
    factor = np.exp(1.959963985 / np.sqrt(20))
    assert_allclose((curve.variance[0], curve.low[0], curve.high[0]), (0, 1 / factor, factor), atol=1e-9)


def test_limits_hold_the_mean_of_machines_that_differ():
    # 400 fleets of 20 machines, gamma frailty of variance 1, two repairs a machine on average by age 1.
    rng = np.random.default_rng(5)
    count = rng.poisson(2 * rng.gamma(1, 1, 8000))
    unit = np.repeat(np.arange(8000), count)
    windows = Windows(np.arange(8000) // 20, np.zeros(8000), np.ones(8000))
    curve = mean_cumulative(windows, Happenings(unit, 1 - rng.uniform(0, 1, len(unit))), groups=400)
    last = curve.offsets[1:] - 1
    held = (curve.low[last] <= 2) & (curve.high[last] >= 2)
    assert 0.92 <= held.mean() <= 0.985


def test_reading_before_the_first_event_has_an_upper_limit_for_counts_only():
    windows = Windows([0] * 10, np.zeros(10), np.full(10, 9.0))
    counts = mean_cumulative(windows, Happenings([0], [4.0]), groups=1)
    reading = read_at(counts, 0, [3.9, 4, 100], at_risk=10)
    assert_allclose(reading.value, [0, 0.1, 0.1])
    assert_allclose(reading.high[0], exact_rate(0, 10).high)
    costs = mean_cumulative(windows, Happenings([0], [4.0], [50.0]), groups=1)
    assert read_at(costs, 0, [1], at_risk=10).high == np.inf


def test_difference_of_two_groups():
    windows = Windows([0] * 10 + [1] * 10, np.zeros(20), np.full(20, 9.0))
    events = Happenings(np.r_[np.arange(20), np.arange(10)], np.r_[np.full(20, 4.0), np.full(10, 6.0)])
    curve = mean_cumulative(windows, events, groups=2)
    first, second = (read_at(curve, group, [8.0], at_risk=10) for group in (0, 1))
    result = mcf_difference(first, second)
    assert_allclose(result.value, 2 - 1)
    assert_allclose(result.low, 1 - np.hypot(2 - first.low, second.high - 1))
    assert_allclose(result.high, 1 + np.hypot(first.high - 2, 1 - second.low))


def test_no_machines_or_no_events_give_no_rows():
    assert len(mean_cumulative(Windows([], [], []), Happenings([], []), groups=2).value) == 0
    curve = mean_cumulative(Windows([0], [0], [5]), Happenings([], []), groups=1)
    assert_array_equal(curve.offsets, [0, 0])
    assert read_at(curve, 0, [3], at_risk=1).value == 0


@pytest.mark.parametrize(
    ("windows", "events", "words"),
    [
        (([0], [3], [3]), ([], []), "exit must be after entry, but was 3 after 3"),
        (([0], [0], [3]), ([0], [4]), "time must lie within the machine's window, but was 4"),
        (([0], [1], [3]), ([0], [1]), "time must lie within the machine's window, but was 1"),
        (([0], [0], [3]), ([1], [2]), "unit must be below the 1 machines, but was 1"),
        (([2], [0], [3]), ([0], [2]), "group must be between 0 and 0"),
        (([0], [0], [3]), ([0], [2], [-1]), "amount must be at least 0, but was -1"),
    ],
)
def test_what_cannot_be_is_refused_by_name(windows, events, words):
    with pytest.raises(ValueError, match=words):
        mean_cumulative(Windows(*windows), Happenings(*events), groups=1)
