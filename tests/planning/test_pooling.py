"""What vans may borrow of each other: much where they do the same work, little where they do not."""

import numpy as np
import pytest

from pipeline.planning.pooling import WORTHS, pooled_worth


def drawn(worth, seed=1, vans=20, parts=30, needs=300):
    rng = np.random.default_rng(seed)
    share = rng.dirichlet(np.full(parts, 1.0))
    own = rng.dirichlet(worth * share, size=vans) if worth else np.broadcast_to(share, (vans, parts))
    return np.array([rng.multinomial(needs, each) for each in own])


@pytest.mark.parametrize("worth", [10, 50, 200])
def test_worth_that_made_the_vans_differ_is_found(worth):
    assert pooled_worth(drawn(worth)) == pytest.approx(worth, rel=0.4)


def test_vans_that_differ_by_chance_alone_borrow_nearly_everything():
    assert pooled_worth(drawn(None)) > 2000


def test_one_van_or_no_need_at_all_takes_what_there_is():
    assert pooled_worth([[3, 1]]) == WORTHS[-1]
    assert pooled_worth([[0, 0], [0, 0]]) == WORTHS[-1]
