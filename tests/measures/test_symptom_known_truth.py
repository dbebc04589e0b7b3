"""Answers on small invented firms whose every chance is known, against somebody who knows them all, and against plain counts."""

from datetime import date

import numpy as np
import pytest

from pipeline.measures.symptom_back_test import COUNTS, LEANING
from tests.builds import built
from tests.studies.symptom_firms import FAULTS, firm
from tests.studies.symptom_scores import ORACLE, Scores, minutes_over_oracle, miscalibration, perfect, score

SPLIT, UNTIL = date(2025, 2, 1), date(2026, 1, 1)
# What answers may lose against the truth: three points of the first part, four of the first three fixes, 0.05 nat a job.
PART, FIX, NAT = 0.03, 0.04, 0.05
MINUTES = 1.05


def study(seeds):
    """Scores over all firms, minutes against the best order, and the share of firms as well calibrated as chance allows."""
    scores, minutes, calibrated = Scores(), [], []
    for seed in seeds:
        truth = firm(seed)
        with built(truth.text) as con:
            own = Scores()
            score(con, truth, SPLIT, UNTIL, own)
            score(con, truth, SPLIT, UNTIL, scores)
            minutes += minutes_over_oracle(con, truth, UNTIL)
        limit = perfect(own.given, 200, np.random.default_rng(seed))
        calibrated.append(miscalibration(own.given, own.happened) < limit)
    return scores, minutes, float(np.mean(calibrated))


def hold(scores, minutes):
    ours, plain, oracle = (scores.by[name] for name in (LEANING, COUNTS, ORACLE))
    assert ours.jobs == plain.jobs == oracle.jobs
    assert ours.part_hits >= oracle.part_hits - PART * ours.jobs
    assert ours.fix_hits >= oracle.fix_hits - FIX * ours.jobs
    assert ours.log >= oracle.log - NAT * ours.jobs
    assert ours.log > plain.log
    assert ours.part_hits > plain.part_hits
    assert np.mean(minutes) <= MINUTES


def test_answers_of_two_firms_come_near_the_truth_and_beat_plain_counts():
    scores, minutes, _ = study([1, 2])
    hold(scores, minutes)
    # Of two firms only what chance hardly ever does is told: 5 in 100 is asked of thirty, below. (0.0170 was seen, with 0.0162
    # at 5 in 100.)
    limit = perfect(scores.given, 1000, np.random.default_rng(0), 0.999)
    assert miscalibration(scores.given, scores.happened) < limit


@pytest.mark.full
def test_answers_of_thirty_firms_come_near_the_truth_and_are_no_surer_than_they_should_be():
    scores, minutes, calibrated = study(range(1, 31))
    hold(scores, minutes)
    assert np.quantile(minutes, 0.95) <= MINUTES
    # All firms together: whatever is wrong with the way of learning adds up here, chance evens out.
    limit = perfect(scores.given, 100, np.random.default_rng(0))
    assert miscalibration(scores.given, scores.happened) < limit
    # Firm by firm: whoever knows the very law that firms are drawn by, and learns each firm's chances from the same jobs,
    # stays below the limit in 88 of 100 (600 firms drawn), since a chance learnt a little wrong is wrong for all later jobs.
    assert calibrated >= 0.88 - 2 * np.sqrt(0.88 * 0.12 / 30)


def test_the_truth_of_a_firm_adds_up_and_its_models_differ():
    truth = firm(1)
    for (kind, model, symptom), p in truth.chance.items():
        assert p.sum() == pytest.approx(1)
        assert sum(truth.held(kind, model, symptom).values()) == pytest.approx(1)
    first = [truth.chance["washer", f"W{number}", "noisy"][0] for number in range(4)]
    assert np.ptp(first) > 0.02
    assert {symptom for _, _, symptom in truth.chance} == {name for some in FAULTS.values() for name in some}


def test_a_perfect_forecaster_is_told_from_one_that_is_too_sure():
    rng = np.random.default_rng(3)
    given = [[0.6, 0.3, 0.1]] * 400
    happened = [int(rng.choice(3, p=row)) for row in given]
    assert miscalibration(given, happened) < perfect(given, 200, rng)
    assert miscalibration([[0.95, 0.04, 0.01]] * 400, happened) > perfect(
        [[0.95, 0.04, 0.01]] * 400, 200, rng
    )
