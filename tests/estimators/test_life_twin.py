"""Life curves against a plain twin in exact fractions, by-unit variances against leaving units out."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy import stats

from pipeline.estimators.competing import (
    curves_from_records,
    incidence_of_records,
    probability_by,
    unit_variance,
)
from pipeline.estimators.jackknife import checked_records, influences
from pipeline.estimators.restricted import restricted_mean
from tests.twins import life_curves as twin

RECORD = st.tuples(st.integers(-1, 4), st.integers(0, 12), st.integers(-1, 1), st.integers(0, 5))
RECORDS = st.lists(RECORD.filter(lambda record: record[0] < record[1]), min_size=1, max_size=25)
FROM_THE_START = st.lists(RECORD.map(lambda record: (-1, *record[1:])), min_size=1, max_size=25)
CAUSES = st.sampled_from([(0,), (1,), (0, 1)])


def curves_of(records):
    entry, time, cause, _ = np.array(records).T
    return curves_from_records(0 * time, time, cause, groups=1, causes=2, entry=entry)


def by_unit(records, day, causes):
    entry, time, cause, unit = np.array(records).T
    curves = curves_of(records)
    return unit_variance(curves, 0 * time, time, cause, unit, day=day, causes=causes, entry=entry)


@given(RECORDS, st.integers(0, 14), CAUSES)
def test_probability_is_that_of_the_twin(records, day, causes):
    result = probability_by(curves_of(records), day, causes)
    assert_allclose(result.value, float(twin.incidence_by(records, day, causes)), atol=1e-12)
    assert result.at_risk == twin.at_risk_on(records, day)
    assert 0 <= result.low <= result.value <= result.high <= 1


@given(RECORDS)
def test_event_free_and_incidences_are_those_of_the_twin_and_add_up_to_one(records):
    curves = curves_of(records)
    for time, free, incidence in zip(curves.time, curves.survival, curves.incidence, strict=True):
        assert_allclose(free, float(twin.event_free_by(records, int(time))), atol=1e-12)
        assert_allclose(free + incidence.sum(), 1, atol=1e-12)


@given(RECORDS, st.integers(0, 14))
def test_variance_of_all_causes_together_is_greenwoods(records, day):
    assume(twin.event_free_by(records, day) > 0)
    result = probability_by(curves_of(records), day, (0, 1))
    assert_allclose(result.variance, float(twin.greenwood_by(records, day)), atol=1e-12)


@given(RECORDS, st.integers(1, 14), CAUSES)
def test_restricted_mean_is_the_area_of_the_twin(records, tau, causes):
    result = restricted_mean(curves_of(records), tau, causes)
    assert_allclose(result.value, float(twin.mean_restricted_to(records, tau, causes)), atol=1e-12)
    assert 0 <= result.low <= result.value <= result.high <= tau


@given(FROM_THE_START, st.integers(0, 14))
def test_one_record_a_unit_gives_greenwoods_variance(records, day):
    # Without delayed entry and apart from m / (m - 1), the infinitesimal jackknife of a life curve is
    # Greenwood's.
    assume(len(records) > 1)
    numbered = [(*record[:3], number) for number, record in enumerate(records)]
    result = by_unit(numbered, day, (0, 1))
    plain = result.variance * (len(records) - 1) / len(records)
    assert not result.repeats
    assert_allclose(plain, probability_by(curves_of(records), day, (0, 1)).variance, atol=1e-12)


@given(RECORDS, st.integers(0, 14), CAUSES)
def test_influence_is_the_slope_in_the_records_weight(records, day, causes):
    # The curve of K copies with one record taken once more, against K copies: the slope at weight 1, up to 1
    # / K.
    entry, time, cause, unit = np.array(records).T
    curves = curves_of(records)
    rows = checked_records(0 * time, time, cause, unit, entry)
    influence = influences(curves, rows, causes, (curves.time <= day).astype(float))
    copies = 4000
    more = (
        probability_by(curves_of(records * copies + [records[0]]), day, causes).value
        - probability_by(curves, day, causes).value
    ) * copies
    assert_allclose(influence[0], more[0], atol=5e-3 * max(1.0, abs(influence[0]) * 5))
    assert_allclose(influence.sum(), 0, atol=1e-10)


def test_by_unit_variance_is_near_that_of_leaving_units_out():
    rng = np.random.default_rng(11)
    for seed in range(5):
        rng = np.random.default_rng(seed)
        unit = np.repeat(np.arange(60), rng.integers(1, 8, 60))
        hazard = rng.gamma(1.5, 1 / 40, 60)[unit]
        time = np.minimum(rng.exponential(1 / hazard), rng.uniform(5, 60, len(unit))).astype(int)
        cause = np.where(rng.random(len(unit)) < 0.5, rng.integers(0, 2, len(unit)), -1)
        records = list(zip(np.full(len(unit), -1), time, cause, unit, strict=True))
        left_out = [
            float(probability_by(curves_of(twin.without_unit(records, k)), 20).value[0]) for k in range(60)
        ]
        jackknife = 59 / 60 * ((left_out - np.mean(left_out)) ** 2).sum()
        assert_allclose(by_unit(records, 20, (0,)).variance, jackknife, rtol=0.03)


def test_leaving_units_out_agrees_between_curves_and_twin():
    records = [(-1, 3, 0, 0), (-1, 5, -1, 0), (0, 7, 0, 1), (-1, 8, 1, 1), (2, 9, 0, 2), (-1, 9, -1, 3)]
    for unit in range(4):
        rest = twin.without_unit(records, unit)
        assert_allclose(probability_by(curves_of(rest), 9).value, float(twin.incidence_by(rest, 9, (0,))))


def test_copies_of_a_record_on_one_unit_are_one_witness():
    records = [(-1, time, 0 if time < 20 else -1, time) for time in range(5, 45)]
    alone = incidence_of_records(
        np.zeros(40, dtype=int), *(np.array([row[k] for row in records]) for k in (1, 2, 3)), groups=1, day=30
    )
    fivefold = records * 5
    copied = incidence_of_records(
        np.zeros(200, dtype=int),
        *(np.array([row[k] for row in fivefold]) for k in (1, 2, 3)),
        groups=1,
        day=30,
    )
    assert copied.is_by_unit
    assert_allclose(copied.variance * 39 / 40, alone.variance, rtol=1e-10)
    wider = (stats.t.ppf(0.975, 39) / stats.norm.ppf(0.975)) ** 2
    assert_allclose(copied.n_eff * wider, alone.n_eff * 39 / 40, rtol=1e-10)


def test_one_unit_is_one_witness_however_many_its_records():
    result = incidence_of_records(
        [0] * 30, [9] * 10 + [50] * 20, [0] * 10 + [-1] * 20, [7] * 30, groups=1, day=30
    )
    assert (result.is_by_unit[0], result.n_eff[0], result.n[0]) == (True, 1, 30)


def test_restricted_mean_by_unit_allows_for_copies():
    time, cause = np.tile(np.arange(2, 42), 5), np.tile(np.where(np.arange(40) % 3, 0, -1), 5)
    unit, group = np.tile(np.arange(40), 5), np.zeros(200, dtype=int)
    single = restricted_mean(curves_from_records(group[:40], time[:40], cause[:40], groups=1), 30)
    curves = curves_from_records(group, time, cause, groups=1)
    copied = restricted_mean(curves, 30, by_unit=checked_records(group, time, cause, unit, None))
    wider = (stats.t.ppf(0.975, 39) / stats.norm.ppf(0.975)) ** 2
    assert_allclose(copied.variance / wider * 39 / 40, single.variance, rtol=1e-10)
