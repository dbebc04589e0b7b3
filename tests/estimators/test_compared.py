"""Two sides over the cells where both are: weights by hand, balance exact, limits those of a second implementation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.estimators.bootstrap import SEED
from pipeline.estimators.compared import Records, compare, imbalance, overlap
from pipeline.estimators.resampled import EVENT, LAST_SEEN

DAYS = 90


def records(rows, measured=None):
    """Rows of unit, side, cell, whether it came back; all followed 90 days."""
    unit, side, cell, came = np.array(rows).T
    kind, time = np.where(came == 1, EVENT, LAST_SEEN), np.where(came == 1, 10, DAYS)
    values = np.zeros((len(rows), 1)) if measured is None else np.array(measured, dtype=float)[:, None]
    return Records(unit, side, cell, time, kind, values, np.where(came == 1, 7.0, 0.0)[:, None])


def many(cell, side, n, came, first):
    return [(first + at, side, cell, int(at < came)) for at in range(n)]


# 30 and 10 in the first cell, 10 and 30 in the second, 25 alone in the third.
ROWS = [
    *many(0, 0, 30, 3, 0),
    *many(0, 1, 10, 1, 100),
    *many(1, 0, 10, 5, 200),
    *many(1, 1, 30, 15, 300),
    *many(2, 0, 25, 25, 400),
]


def test_a_job_weighs_the_share_of_the_other_side_and_a_cell_with_one_side_nothing():
    found = overlap(records(ROWS), 3, DAYS)
    assert found.weight[[0, 30, 40, 50, 80]] == pytest.approx([0.25, 0.75, 0.75, 0.25, 0.0])
    # Each side has weight 7.5 in either cell: (7.5 + 7.5)^2 / (30 / 16 + 10 * 9 / 16).
    assert found.effective == pytest.approx([30.0, 30.0])
    assert found.shared.tolist() == [40, 40]
    assert found.events.tolist() == [8, 16]


def test_probabilities_are_alike_where_the_cells_are_and_naive_ones_are_not():
    whole, _ = compare(records(ROWS), lambda sides: sides.probability, cells=3, days=DAYS, resamples=50)
    # 10 % in the first cell and 50 % in the second, half of each: 30 % on both sides; without cells 33 of 65 and 16 of 40.
    assert whole.probability[0] == pytest.approx([0.3, 0.3])


def test_both_sides_are_made_up_alike_once_weighted():
    given_records = records(ROWS)
    has = np.eye(3)[given_records.cell]
    before = imbalance(given_records.side, has, np.ones(len(has)))
    after = imbalance(given_records.side, has, overlap(given_records, 3, DAYS).weight)
    assert abs(before).max() > 0.4
    assert after == pytest.approx([0, 0, 0], abs=1e-12)


def test_what_is_not_known_is_left_out_of_its_mean_only():
    rows = [(at, at % 2, 0, 0) for at in range(40)]
    values = [np.nan if at < 4 else float(at % 2) * 10 for at in range(40)]
    whole, _ = compare(records(rows, values), lambda s: s.measured[..., 0], cells=1, days=DAYS, resamples=50)
    assert whole.measured[0, :, 0] == pytest.approx([0, 10])
    assert whole.per_event[0, :, 0] == pytest.approx([0, 0])


ROW = st.tuples(st.integers(0, 6), st.integers(0, 1), st.integers(0, 2), st.integers(0, 1))


@given(st.lists(ROW, min_size=2, max_size=30))
def test_limits_are_those_of_records_drawn_one_by_one(rows):
    found = compare(
        records(rows), lambda s: s.probability[:, :1] - s.probability[:, 1:], cells=3, days=DAYS, resamples=40
    )[1]
    table = np.array(rows)
    names, unit = np.unique(table[:, 0], return_inverse=True)
    drawn = np.random.default_rng(SEED).integers(len(names), size=(40, len(names)))
    differences = [
        plain_difference(table[np.concatenate([np.flatnonzero(unit == u) for u in one])]) for one in drawn
    ]
    expected = np.quantile(differences, [0.025, 0.975], method="weibull")
    assert (found.low[0], found.high[0]) == (pytest.approx(expected[0]), pytest.approx(expected[1]))
    assert found.value[0] == pytest.approx(plain_difference(table))


def plain_difference(rows):
    """Weighted share on side 0 less that on side 1, cell by cell."""
    hits, weights = [0.0, 0.0], [0.0, 0.0]
    for cell in range(3):
        inside = [[row[3] for row in rows if row[2] == cell and row[1] == side] for side in (0, 1)]
        n0, n1 = map(len, inside)
        if n0 and n1:
            for side, other in ((0, n1), (1, n0)):
                hits[side] += sum(inside[side]) * other / (n0 + n1)
                weights[side] += len(inside[side]) * other / (n0 + n1)
    shares = [hit / weight if weight else 0.0 for hit, weight in zip(hits, weights, strict=True)]
    return shares[0] - shares[1]
