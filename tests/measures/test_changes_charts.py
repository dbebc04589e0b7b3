"""Returns expected day by day after fixes: by hand, and adding up to what was seen where nothing changed."""

import numpy as np
import pytest

from pipeline.measures.changes_charts import DAYS, _expected_by_day, _hazard


def test_expected_returns_by_hand():
    # Three fixes on day 0: back on day 2, back on day 4, followed to day 10. Hazards: 1 of 3 on day 2, 1 of 2 on day 4.
    finished, time, back = np.zeros(3, int), np.array([2, 4, 10]), np.array([True, True, False])
    hazard = _hazard(finished, time, back, split=11)
    assert hazard[[2, 4]].tolist() == pytest.approx([1 / 3, 1 / 2])
    assert hazard.sum() == pytest.approx(5 / 6)
    by_day = _expected_by_day(np.array([5, 5]), np.array([3, 9]), hazard, days=20)
    # Two at risk on the second day after, one on the fourth.
    assert by_day[7] == pytest.approx(2 / 3)
    assert by_day[9] == pytest.approx(1 / 2)
    assert by_day.sum() == pytest.approx(7 / 6)


def test_baseline_ends_at_the_split():
    # The return on day 4 comes after a split on day 3: till then it is only a fix that was followed.
    finished, time, back = np.zeros(2, int), np.array([2, 4]), np.array([True, True])
    hazard = _hazard(finished, time, back, split=3)
    assert hazard[2] == pytest.approx(1 / 2)
    assert hazard[4] == 0


def test_expected_adds_up_to_what_was_seen():
    rng = np.random.default_rng(1)
    finished = np.sort(rng.integers(0, 300, 500))
    time = np.minimum(rng.integers(0, 300, 500), DAYS)
    back = (rng.random(500) < 0.3) & (finished + time < 400)
    hazard = _hazard(finished, time, back, split=400)
    assert _expected_by_day(finished, time, hazard, days=400).sum() == pytest.approx(back.sum())
