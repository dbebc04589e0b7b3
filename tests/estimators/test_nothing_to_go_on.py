"""Every estimator where there is little or nothing to go on: an answer that can be said, never "not a number"."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from pipeline.estimators.bootstrap import bootstrap_t_mean
from pipeline.estimators.competing import curves_from_records, incidence_of_records
from pipeline.estimators.curves import Entries
from pipeline.estimators.jackknife import checked_records
from pipeline.estimators.line import incidence_line
from pipeline.estimators.lognormal import fit_times, geometric_mean, lognormal_mean, lognormal_quantile
from pipeline.estimators.mcf import Happenings, Windows, mcf_difference, mean_cumulative, read_at
from pipeline.estimators.power_law import fit_power_law, power_law
from pipeline.estimators.proportions import clopper_pearson, jeffreys, newcombe_difference, wilson
from pipeline.estimators.rates import UnitSums, exact_rate, rate_ratio, score_rate, unit_rate
from pipeline.estimators.restricted import band, quantile, restricted_mean
from pipeline.estimators.shrinkage import fit_beta, fit_gamma, shrink_rates, shrink_shares
from pipeline.estimators.trend import laplace, military_handbook
from pipeline.estimators.unit_shares import unit_share
from pipeline.estimators.weibull import Found, fit_weibull, weibayes

GROUPS, LEVELS = 4, st.sampled_from([0.5, 0.9, 0.95, 0.999])


def numbers_in(answer):
    """Every number of an answer, however deep."""
    if isinstance(answer, tuple | list):
        return np.concatenate([numbers_in(part) for part in answer] or [np.empty(0)])
    if answer is None or isinstance(answer, str | bool):
        return np.empty(0)
    return np.ravel(np.asarray(answer, dtype=float))


def assert_says_something(answer):
    assert not np.isnan(numbers_in(answer)).any(), answer


def assert_ordered(answer):
    assert (np.asarray(answer.low) <= np.asarray(answer.high) + 1e-12).all()


def lives(time, cause, unit, entry=None):
    """Everything that is read off life curves, group 1 of four; the others have no record."""
    group = np.ones(len(time), dtype=int)
    curves = curves_from_records(group, time, cause, groups=GROUPS, causes=2, entry=entry)
    records = checked_records(group, time, cause, unit, entry)
    asked = incidence_of_records(
        group, time, cause, unit, groups=GROUPS, day=30, n_causes=2, causes=(0,), entry=entry
    )
    both = restricted_mean(curves, 60, (0, 1), 0.95, records)
    found = [asked, both, band(curves, (0, 1)), quantile(curves, 0.5)]
    if entry is None:
        found.append(
            incidence_line(group, time, cause, unit, groups=GROUPS, days=range(0, 60, 7), n_causes=2)
        )
    return found


CURVES = {
    "no record": ([], [], []),
    "no event": ([5, 40, 40], [-1, -1, -1], [1, 2, 3]),
    "all censored on the day of the fix": ([0, 0, 0], [-1, -1, -1], [1, 2, 3]),
    "all on the day of the fix": ([0, 0, 0], [0, 0, 0], [1, 2, 3]),
    "one record": ([12], [0], [1]),
    "one machine": ([3, 7, 7, 9], [0, -1, 0, 1], [1, 1, 1, 1]),
    "all at one time": ([9] * 6, [0, 1, -1, 0, 1, -1], [1, 1, 2, 2, 3, 3]),
    "all of the other cause": ([3, 4, 5], [1, 1, 1], [1, 2, 3]),
}


@pytest.mark.parametrize("records", CURVES.values(), ids=CURVES)
def test_life_curves(records):
    time, cause, unit = (np.array(column, dtype=int) for column in records)
    probability, mean, *_ = found = lives(time, cause, unit)
    assert_says_something(found)
    assert_ordered(probability)
    assert ((probability.low >= 0) & (probability.high <= 1)).all()
    assert ((mean.value >= 0) & (mean.value <= 60)).all()
    # A group without records says that it knows nothing.
    assert_array_equal((probability.low[3], probability.high[3], probability.n_eff[3]), (0, 1, 0))


def test_a_record_that_was_never_at_risk_counts_nowhere():
    # It came under observation on the day on which it ended.
    time, cause, unit = (np.array(column) for column in ([9, 20, 30], [0, 0, -1], [1, 2, 3]))
    with_it = lives(time, cause, unit, entry=np.array([9, 2, 0]))
    without = lives(time[1:], cause[1:], unit[1:], entry=np.array([2, 0]))
    assert_says_something(with_it)
    assert_array_equal(numbers_in(with_it[0]), numbers_in(without[0]))


RECORDS = st.lists(
    st.tuples(st.integers(0, 60), st.integers(-1, 1), st.integers(0, 5), st.integers(-1, 20)), max_size=25
)


@settings(deadline=None)
@given(RECORDS)
def test_life_curves_of_any_records(records):
    time, cause, unit, entry = np.array(records, dtype=int).reshape(-1, 4).T
    probability, mean, drawn, *_ = found = lives(time, cause, unit, np.minimum(entry, time))
    assert_says_something(found)
    for answer in (probability, mean, drawn):
        assert_ordered(answer)
        assert (answer.low <= answer.value + 1e-9).all()
        assert (answer.value <= answer.high + 1e-9).all()


WEIBULL = {
    "no life": ([], [], []),
    "no failure": ([5.0, 9.0], [0, 0], [1, 4]),
    "one failure": ([5.0], [1], [0]),
    "one failure at the very end": ([5.0, 9.0], [0, 1], [3, 0]),
    "all at one time": ([7.0], [12], [0]),
    "two times, far apart": ([1e-6, 1e9], [1, 1], [0, 0]),
}


@pytest.mark.parametrize("cells", WEIBULL.values(), ids=WEIBULL)
def test_weibull_with_and_without_delayed_entry(cells):
    time, failed, censored = (np.array(column) for column in cells)
    group = np.ones(len(time), dtype=int)
    entries = Entries(group, time / 2, failed + censored)
    for given_ in (None, entries):
        fit = fit_weibull(
            group, time, failed.astype(int), censored.astype(int), groups=GROUPS, entries=given_
        )
        assert_says_something(fit)
        assert not fit.is_fitted[[0, 2, 3]].any()
    assert_says_something(weibayes(time, int(failed.sum()), 2.0))


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, GROUPS - 1), st.floats(1e-3, 1e5), st.integers(0, 3), st.integers(0, 3)),
        max_size=20,
    ),
    st.floats(0, 0.999),
)
def test_weibull_of_any_cells(cells, share):
    group, time, failed, censored = (
        (np.array(column) for column in zip(*cells, strict=True))
        if cells
        else (
            np.empty(0, dtype=int),
            np.empty(0),
            np.empty(0, dtype=int),
            np.empty(0, dtype=int),
        )
    )
    entries = Entries(group, share * time, failed + censored)
    for given_ in (None, entries):
        fit = fit_weibull(group, time, failed, censored, groups=GROUPS, entries=given_)
        assert_says_something(fit)
        # A machine that came under observation just before its end says next to nothing: the fit says so.
        fitted = fit.is_fitted
        assert (fit.events[fitted] > 0).all()
        assert (fit.shape_low[fitted] <= fit.shape[fitted]).all()
        assert (fit.shape[fitted] <= fit.shape_high[fitted]).all()


@settings(deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, GROUPS - 1), st.floats(1e-3, 1e5), *[st.integers(0, 3)] * 3),
        min_size=1,
        max_size=12,
    ),
    st.floats(0, 0.999),
)
def test_weibull_of_any_cells_found_ended(cells, share):
    group, time, failed, censored, found = (np.array(column) for column in zip(*cells, strict=True))
    entries = Entries(group, share * time, failed + censored + found)
    for after, given_ in ((0 * time, None), (share * time, None), (share * time, entries)):
        seen = Found(group, after, time, found)
        fit = fit_weibull(group, time, failed, censored, groups=GROUPS, entries=given_, found=seen)
        assert_says_something(fit)
        fitted = fit.is_fitted
        assert (fit.shape_low[fitted] <= fit.shape[fitted]).all()
        assert (fit.shape[fitted] <= fit.shape_high[fitted]).all()


MACHINES = {
    "no machine": ([], [], []),
    "no event": ([0.0, 3.0], [9.0, 8.0], []),
    "one machine": ([0.0], [9.0], [(0, 3.0), (0, 9.0)]),
    "all at one age": ([0.0, 0.0, 0.0], [9.0, 9.0, 9.0], [(0, 9.0), (1, 9.0), (2, 9.0), (2, 9.0)]),
    "entered just before": ([8.999999, 0.0], [9.0, 9.0], [(0, 9.0)]),
}


@pytest.mark.parametrize("machines", MACHINES.values(), ids=MACHINES)
def test_mean_cumulative_functions_and_power_laws(machines):
    entry, leave, events = machines
    windows = Windows(np.ones(len(entry), dtype=int), np.array(entry), np.array(leave))
    unit = np.array([each[0] for each in events], dtype=int)
    time = np.array([each[1] for each in events], dtype=float)
    for amount in (None, np.zeros(len(unit)), np.full(len(unit), 80.0)):
        curve = mean_cumulative(windows, Happenings(unit, time, amount), groups=GROUPS)
        assert_says_something(curve)
        read = [read_at(curve, group, [0.0, 5.0, 100.0], 0) for group in (1, 2)]
        assert_says_something([*read, mcf_difference(*read)])
    assert_says_something(fit_power_law(windows, Happenings(unit, time), groups=GROUPS))


def test_rates_shares_and_their_differences():
    d, t = np.array([0, 0, 3, 5]), np.array([0.0, 2.0, 0.0, 4.0])
    zeros = np.zeros(4)
    assert_says_something([exact_rate(d, t), score_rate(d, t), rate_ratio(d, t, d[::-1], t[::-1])])
    assert_says_something(unit_rate(UnitSums(d, t, d * d, d * t, t * t, np.array([0, 1, 0, 1]))))
    x, n = np.array([0, 0, 5, 2]), np.array([0, 5, 5, 5])
    for interval in (wilson, clopper_pearson, jeffreys):
        assert_says_something(interval(x, n))
    low, high = wilson(x, n)
    value = np.divide(x, n, out=zeros, where=n > 0)
    assert_says_something(newcombe_difference((value, low, high), (value[::-1], low[::-1], high[::-1])))
    assert_says_something(unit_share(UnitSums(x, n, x * x, x * n, n * n, np.array([0, 1, 5, 2]))))


# An exposure next to nothing: the upper limit is past the largest number.
@example([(0, 2.2250738585e-313)], 0.5)
@example([(0, 5e-324), (3, 0.0)], 0.95)
@given(st.lists(st.tuples(st.integers(0, 9), st.floats(0, 1e4)), min_size=1, max_size=6), LEVELS)
def test_rates_of_any_counts(counts, level):
    d, t = (np.array(column) for column in zip(*counts, strict=True))
    t = np.where(d > 0, np.maximum(t, 1e-9), t)
    both = (exact_rate(d, t, level), score_rate(d, t, level), rate_ratio(d[:1], t[:1], d, t, level))
    assert_says_something(both)
    for answer in both:
        assert_ordered(answer)


def test_times():
    for times in ([], [5.0], [5.0, 5.0, 5.0], [1e-9, 1e9]):
        fit = fit_times(times)
        assert_says_something([fit, geometric_mean(fit), lognormal_mean(fit), lognormal_quantile(fit, 0.9)])
    for total, count in (([], []), ([9.0], [3]), ([0.0, 0.0], [1, 1]), ([5.0, 5.0, 5.0], [1, 1, 1])):
        assert_says_something(bootstrap_t_mean([1] * len(total), total, count, groups=3))


def test_shrinkage():
    family = np.array([0, 0, 0, 1, 2, 2])
    d, t = np.array([0, 0, 0, 3, 4, 4]), np.array([0.0, 1.0, 2.0, 0.5, 2.0, 2.0])
    prior = fit_gamma(family, d, t, families=GROUPS)
    assert_says_something([prior, shrink_rates(prior, family, d, t)])
    n = np.array([0, 5, 5, 3, 4, 4])
    prior = fit_beta(family, d, n, families=GROUPS)
    assert_says_something([prior, shrink_shares(prior, family, d, n)])


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 6), st.integers(0, 6)), max_size=12))
def test_shrinkage_of_any_counts(members):
    family, x, more = np.array(members, dtype=int).reshape(-1, 3).T
    prior = fit_beta(family, x, x + more, families=3)
    assert_says_something([prior, shrink_shares(prior, family, x, x + more)])
    prior = fit_gamma(family, x, more.astype(float), families=3)
    assert_says_something([prior, shrink_rates(prior, family, x, more.astype(float))])


def test_trends():
    n = np.array([0, 1, 3])
    assert_says_something([laplace(n, [0.0, 1.0, 1.5]), military_handbook(n, [0.0, 0.0, 2.0])])
    assert_says_something(power_law(n, [0.0, 0.0, 2.0], [0, 1, 1], [0.0, 5.0, 5.0]))
