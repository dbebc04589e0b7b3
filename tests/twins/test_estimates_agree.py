"""The estimators on arrays against plain fractions on single records."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.estimators.competing import CENSORED, incidence_of_records
from pipeline.estimators.curves import curves_from_records
from pipeline.estimators.rates import UnitSums, unit_rate
from pipeline.estimators.restricted import quantile, restricted_mean
from tests.twins import estimates
from tests.twins.estimates import Followed

RECORDS = st.lists(
    st.builds(Followed, st.integers(0, 12), st.integers(0, 2), st.integers(1, 6)), min_size=1, max_size=25
)


def arrays(records: list[Followed]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Days, cause (0 the event, 1 the competing end) and unit as arrays."""
    causes = {0: CENSORED, 1: 0, 2: 1}
    columns = ([r.days for r in records], [causes[r.ended] for r in records], [r.unit for r in records])
    return tuple(np.array(column) for column in columns)


@given(RECORDS, st.integers(0, 13))
def test_probability_of_a_repeat_agrees_with_exact_fractions(records: list[Followed], day: int) -> None:
    time, cause, unit = arrays(records)
    got = incidence_of_records(np.zeros(len(time), int), time, cause, unit, groups=1, day=day, n_causes=2)
    curve = estimates.aalen_johansen(records, day)
    n = estimates.effective_n(curve)
    low, high = estimates.wilson(n * float(curve.probability), n)
    assert got.value[0] == pytest.approx(float(curve.probability), abs=1e-12)
    assert got.n_eff[0] == pytest.approx(n, rel=1e-9)
    assert (got.low[0], got.high[0]) == pytest.approx((low, high), abs=1e-9)


@given(RECORDS)
def test_quantile_and_restricted_mean_agree_with_exact_fractions(records: list[Followed]) -> None:
    time, cause, _ = arrays(records)
    curves = curves_from_records(np.zeros(len(time), int), time, cause, groups=1, causes=2)
    for share in (Fraction(1, 2), Fraction(4, 5)):
        day = estimates.step_quantile(records, share)
        assert quantile(curves, float(share)).value[0] == (math.inf if day is None else day)
    mean = float(estimates.restricted_mean(records, 10))
    assert restricted_mean(curves, 10).value[0] == pytest.approx(mean, abs=1e-9)


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(1, 40)), min_size=1, max_size=15))
def test_rate_interval_agrees_with_single_units(per_unit: list[tuple[int, int]]) -> None:
    d, t = np.array(per_unit, float).T
    sums = UnitSums([d.sum()], [t.sum()], [(d * d).sum()], [(d * t).sum()], [(t * t).sum()], [len(d)])
    got = unit_rate(sums)
    low, high = estimates.rate_interval([(events, float(years)) for events, years in per_unit])
    assert (got.low[0], got.high[0]) == pytest.approx((low, high), rel=1e-9, abs=1e-12)
