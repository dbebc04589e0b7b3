"""Shares of jobs whose machines differ: sums against records one by one, edges, and simulated fleets."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.competing import incidence_of_records
from pipeline.estimators.proportions import wilson
from pipeline.estimators.rates import UnitSums
from pipeline.estimators.unit_shares import unit_share

JOBS = st.lists(st.tuples(st.integers(0, 8), st.booleans()), max_size=40)


def sums(hits, jobs):
    x, n = np.asarray(hits, dtype=float), np.asarray(jobs, dtype=float)
    return UnitSums(x.sum(), n.sum(), (x * x).sum(), (x * n).sum(), (n * n).sum(), (n > 0).sum())


@settings(deadline=None)
@given(JOBS)
def test_sums_say_what_a_life_curve_of_the_records_says(jobs):
    unit, hit = np.array(jobs, dtype=int).reshape(-1, 2).T
    found = unit_share(sums(np.bincount(unit, weights=hit, minlength=9), np.bincount(unit, minlength=9)))
    records = incidence_of_records(0 * unit, 0 * unit, hit - 1, unit, groups=1, day=0)
    for name in ("value", "low", "high", "n_eff"):
        assert_allclose(getattr(found, name), getattr(records, name)[0], rtol=1e-9, atol=1e-12)
    assert (found.units, found.is_by_unit) == (records.units[0], records.is_by_unit[0]) or not jobs


@given(st.lists(st.booleans(), max_size=60))
def test_one_job_a_machine_is_wilson(hits):
    found = unit_share(sums(hits, np.ones(len(hits))))
    assert_allclose((found.low, found.high), wilson(sum(hits), len(hits)))
    assert_allclose(found.n_eff, len(hits))


def test_by_hand():
    # Three machines with 2 of 2, 0 of 2 and 1 of 2: p 1/2, squares 1 + 1 + 0, variance 3/2 * 2 / 36 = 1/12; t(2) 4.3027.
    found = unit_share(sums([2, 0, 1], [2, 2, 2]))
    assert_allclose(found.value, 0.5)
    # 1/4 over 1/12 is 3, of which (1.96 / 4.3027)**2 are left: fewer than three machines, so three.
    assert_allclose(found.n_eff, 3.0)


@pytest.mark.parametrize(
    ("hits", "jobs", "value", "n_eff", "limits"),
    [
        ([], [], 0.0, 0.0, (0.0, 1.0)),
        ([0], [0], 0.0, 0.0, (0.0, 1.0)),
        # One machine is one witness, however many jobs it has.
        ([3], [7], 3 / 7, 1.0, None),
        ([0, 0], [5, 5], 0.0, 10.0, None),
        ([5, 5], [5, 5], 1.0, 10.0, None),
        # All alike: nothing is seen of how machines differ.
        ([1, 1, 1], [2, 2, 2], 0.5, 6.0, None),
    ],
)
def test_edges_have_an_answer(hits, jobs, value, n_eff, limits):
    found = unit_share(sums(hits, jobs))
    assert_allclose((found.value, found.n_eff), (value, n_eff))
    assert 0.0 <= found.low <= found.value <= found.high <= 1.0
    assert limits is None or (found.low, found.high) == limits


def test_groups_do_not_touch_each_other():
    columns = [sums([2, 0, 1], [2, 2, 4]), sums([1, 0, 0, 1], [1, 1, 1, 1])]
    together = unit_share(UnitSums(*(np.array(pair) for pair in zip(*columns, strict=True))))
    for place, alone in enumerate(unit_share(each) for each in columns):
        assert_array_equal([column[place] for column in together], [float(column) for column in alone])


def test_more_hits_than_jobs_are_refused():
    with pytest.raises(ValueError, match="at most t"):
        unit_share(sums([3], [2]))


def test_limits_hold_where_machines_differ_and_those_of_the_jobs_alone_do_not():
    rng = np.random.default_rng(4)
    reps, machines, jobs = 2000, 100, 8
    chance = rng.beta(0.8 * 4, 0.2 * 4, (reps, machines))  # correlation 0.2 within machines
    x = rng.binomial(jobs, chance).astype(float)
    n = np.full_like(x, jobs)
    each = UnitSums(*((c).sum(axis=1) for c in (x, n, x * x, x * n, n * n, n > 0)))
    found = unit_share(each)
    held = ((found.low <= 0.8) & (found.high >= 0.8)).mean()
    low, high = wilson(each.d, each.t)
    assert 0.935 < held < 0.965
    assert ((low <= 0.8) & (high >= 0.8)).mean() < 0.85
