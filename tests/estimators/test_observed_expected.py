"""Observed against expected returns: by hand, against simulated fleets of known truth, and published funnel limits."""

import numpy as np
import pytest

from pipeline.estimators.observed_expected import compare_procedures

SEEDS, ALL_SEEDS = 40, 300


def fleet(rng, relapses, sizes, days=90):
    """Jobs of procedures with a probability of return by day 90 (exponential), followed for 0 to 400 days."""
    procedure = np.repeat(np.arange(len(sizes)), sizes)
    hazard = -np.log1p(-np.asarray(relapses)) / days
    back = rng.exponential(1 / hazard[procedure])
    followed = rng.integers(0, 400, len(procedure))
    time = np.minimum(np.floor(back), followed).astype(int)
    return procedure, time, back <= followed


def test_expected_by_hand():
    # Two procedures of one action. The other: 4 jobs, a return on day 2 and one on day 5; two followed to day 10.
    procedure = [0, 0, 0, 1, 1, 1, 1]
    time = [1, 5, 10, 2, 5, 10, 10]
    returned = [False, True, False, True, True, False, False]
    compared = compare_procedures(procedure, [0, 0], time, returned, days=90)
    # Hazards of procedure 1: 1/4 on day 2, 1/3 on day 5. At risk of procedure 0: 2 on day 2 and 2 on day 5.
    assert compared.expected[0] == pytest.approx(2 / 4 + 2 / 3)
    assert compared.observed.tolist() == [1, 2]
    assert compared.jobs.tolist() == [3, 4]
    # Of procedure 0: a return on day 5 among 2; at risk of procedure 1 then: 3.
    assert compared.expected[1] == pytest.approx(3 / 2)


def test_procedure_is_left_out_of_what_it_is_compared_with():
    procedure = np.repeat([0, 1], 50)
    time = np.full(100, 10)
    returned = procedure == 0
    compared = compare_procedures(procedure, [0, 0], time, returned, days=90)
    assert compared.expected[0] == 0
    assert compared.expected[1] == pytest.approx(50)


def test_returns_after_the_last_day_do_not_count():
    compared = compare_procedures([0, 0, 1, 1], [0, 0], [91, 95, 30, 200], [True, True, True, False], days=90)
    assert compared.observed.tolist() == [0, 1]


def test_one_bad_procedure_does_not_make_the_others_look_good():
    rng = np.random.default_rng(5)
    procedure, time, returned = fleet(rng, [0.6] + [0.1] * 7, [900] + [300] * 7)
    compared = compare_procedures(procedure, np.zeros(8, int), time, returned, days=90)
    assert compared.band[0] == "worse"
    # Pooled with the bad one they would all seem to bring back a third of what is usual.
    assert compared.observed[1:].sum() / compared.expected[1:].sum() == pytest.approx(1.0, abs=0.2)


def test_actions_are_not_compared_with_each_other():
    rng = np.random.default_rng(6)
    procedure, time, returned = fleet(rng, [0.03] * 4 + [0.25] * 4, [300] * 8)
    compared = compare_procedures(procedure, [0] * 4 + [1] * 4, time, returned, days=90)
    assert set(compared.band) == {"cannot tell"}


def test_lone_procedure_is_compared_with_nothing():
    compared = compare_procedures([0, 0], [0], [5, 90], [True, False], days=90)
    assert compared.band == ["cannot tell"]
    assert compared.adjusted_p.tolist() == [1.0]
    assert np.isnan(compared.ratio[0])


def shares(seeds):
    """Share of fleets in which anything is flagged although nothing is wrong; shares in which planted ones are found."""
    false, replaced, cleaned = [], [], []
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        sizes = rng.integers(60, 260, 24)
        kinds = np.array([0] * 12 + [1] * 12)
        relapse = np.where(kinds == 0, 0.03, 0.25)
        flat = compare_procedures(*_arguments(rng, relapse, sizes, kinds), days=90)
        false.append("worse" in flat.band)
        planted, at = relapse.copy(), np.maximum(sizes, 100)
        planted[0], planted[12] = 0.15, 0.60
        found = compare_procedures(*_arguments(rng, planted, at, kinds), days=90)
        replaced.append(found.band[0] == "worse")
        cleaned.append(found.band[12] == "worse")
    return np.mean(false), np.mean(replaced), np.mean(cleaned)


def _arguments(rng, relapse, sizes, kinds):
    procedure, time, returned = fleet(rng, relapse, sizes)
    return procedure, kinds, time, returned


def test_flat_fleets_are_left_alone_and_planted_procedures_found():
    false, replaced, cleaned = shares(SEEDS)
    assert false <= 0.10  # 5 in 100 is asked of many fleets; of 40, up to 4 may come
    assert replaced >= 0.80
    assert cleaned >= 0.80


@pytest.mark.study
def test_flat_and_planted_fleets_in_full():
    """300 fleets of 24 procedures, 60 to 260 fixes each; planted ones have 100 or more."""
    false, replaced, cleaned = shares(ALL_SEEDS)
    assert false <= 0.05
    assert replaced >= 0.90
    assert cleaned >= 0.90
