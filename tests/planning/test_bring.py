"""What to take to one job: bundles, against every choice of the same size on drawn cases."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.planning.bring import bundles, finishing


def test_a_job_that_needs_two_parts_gets_both_or_none():
    # Nothing needed 0.2; A alone 0.4; A and B 0.3: A first (0.4 a piece against 0.35), then B; C adds too little.
    needs = [[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 0, 1]]
    found = bundles(needs, [0.2, 0.4, 0.3, 0.01])
    assert [bundle.pieces.tolist() for bundle in found] == [[1, 0, 0], [0, 1, 0]]
    assert [bundle.chance for bundle in found] == pytest.approx([0.6, 0.9])


def test_pieces_of_one_part_are_counted():
    found = bundles([[2], [1]], [0.3, 0.6])
    assert [bundle.pieces.tolist() for bundle in found] == [[1], [1]]
    assert bundles([[2], [1]], [0.5, 0.4], there=[2]) == []


def test_parts_never_needed_alone_come_together():
    found = bundles([[0, 0], [1, 1]], [0.5, 0.5])
    assert [bundle.pieces.tolist() for bundle in found] == [[1, 1]]


@pytest.mark.parametrize(
    ("needs", "chance"), [([[1]], [0.5, 0.5]), ([[-1]], [0.5]), ([[1]], [1.5]), ([[1]], [-0.1])]
)
def test_nonsense_is_refused(needs, chance):
    with pytest.raises(ValueError, match="needs"):
        bundles(needs, chance)


@given(
    st.lists(st.lists(st.integers(0, 2), min_size=3, max_size=3), min_size=1, max_size=6, unique_by=tuple),
    st.data(),
)
def test_with_every_bundle_every_job_can_be_finished_and_no_piece_is_too_many(needs, data):
    weights = np.array(data.draw(st.lists(st.integers(1, 20), min_size=len(needs), max_size=len(needs))))
    p = weights / weights.sum()
    found = bundles(needs, p, least=1e-9)
    have = sum((bundle.pieces for bundle in found), np.zeros(3, np.int64))
    assert finishing(needs, p, have) == pytest.approx(1)
    assert (have == np.array(needs).max(axis=0)).all()
    chances = [bundle.chance for bundle in found]
    assert chances == sorted(chances)


def test_no_choice_of_as_many_pieces_does_much_better():
    rng = np.random.default_rng(8)
    short = []
    for _ in range(150):
        needs = np.unique(rng.integers(0, 3, (6, 4)) * (rng.random((6, 4)) < 0.4), axis=0)
        p = rng.dirichlet(np.ones(len(needs)))
        have = np.zeros(4, np.int64)
        for bundle in bundles(needs, p):
            have = have + bundle.pieces
            same = [np.array(some) for some in product(range(3), repeat=4) if sum(some) == have.sum()]
            short.append(max(finishing(needs, p, some) for some in same) - bundle.chance)
    assert np.mean(short) < 0.01
    assert np.mean(np.array(short) < 1e-9) > 0.9
