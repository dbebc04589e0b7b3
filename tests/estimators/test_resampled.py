"""Probabilities over sums of ends: those of the plain estimator, whatever the weights."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.estimators.competing import CENSORED, incidence_of_records
from pipeline.estimators.resampled import COMPETING, EVENT, KINDS, LAST_SEEN, ends_by_unit, incidence

RECORD = st.tuples(
    st.integers(0, 3), st.integers(0, 1), st.integers(0, 40), st.sampled_from((EVENT, COMPETING, LAST_SEEN))
)


@given(
    st.lists(RECORD, min_size=1, max_size=40),
    st.integers(0, 30),
    st.lists(st.integers(0, 4), min_size=4, max_size=4),
)
def test_weighted_sums_give_what_records_repeated_so_often_give(records, days, weights):
    unit, slot, time, kind = np.array(records).T
    ends = ends_by_unit(unit, slot, time, kind, units=4, slots=2, days=days)
    n = np.array([[np.sum((unit == u) & (slot == s)) for s in (0, 1)] for u in range(4)])
    sums = (np.array(weights) @ ends).reshape(2, days + 1, KINDS)
    found = incidence(sums, np.array(weights) @ n)
    again = np.repeat(np.arange(len(records)), np.array(weights)[unit])
    cause = np.select([kind == EVENT, kind == COMPETING], [0, 1], CENSORED)
    expected = incidence_of_records(slot[again], time[again], cause[again], groups=2, day=days, n_causes=2)
    assert found == pytest.approx(expected.value, abs=1e-12)


def test_wrong_columns_are_named():
    with pytest.raises(ValueError, match="kind must be as long as"):
        ends_by_unit([0, 0], [0, 0], [1, 2], [0], units=1, slots=1, days=5)
