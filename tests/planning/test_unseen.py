"""How strong something unseen must be: the published example, and where no rate turns the verdict."""

import pytest

from pipeline.planning.unseen import unseen_ratio


def test_published_example():
    # VanderWeele & Ding (2017): a risk ratio of 3.9 needs 7.26 (from memory).
    assert unseen_ratio(0.39, 0.1) == pytest.approx(7.26, abs=0.005)


def test_it_is_the_same_in_both_directions_and_one_at_the_break_even():
    assert unseen_ratio(0.1, 0.39) == pytest.approx(unseen_ratio(0.39, 0.1))
    assert unseen_ratio(0.2, 0.2) == 1.0


@pytest.mark.parametrize("even", [-0.7, 0.0, 1.0, 1.8, float("inf"), float("-inf")])
def test_no_rate_turns_the_verdict(even):
    assert unseen_ratio(0.3, even) is None
