"""Order of checks: published and hand-made examples, and every order tried on drawn cases."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.planning.check_order import (
    Check,
    after_miss,
    best_order,
    expected_minutes,
    minutes_of,
    minutes_of_draws,
)


def plain(probabilities, minutes):
    return [Check(p, 1.0, c) for p, c in zip(probabilities, minutes, strict=True)]


def test_three_checks_by_hand():
    # p = .5, .3, .2; minutes 20, 5, 10: order 2, 1, 3 takes 21.0 against 24.5 as listed (5 + 20 * .7 + 10 * .2).
    checks = plain([0.5, 0.3, 0.2], [20, 5, 10])
    assert best_order(checks) == [1, 0, 2]
    assert minutes_of([1, 0, 2], checks) == pytest.approx(21.0)
    assert expected_minutes([0.5, 0.3, 0.2], [20, 5, 10]) == pytest.approx(24.5)


def test_five_checks_of_the_worked_example():
    # Recomputed by brute force over 120 orders: order 4,2,1,3,5 takes 13.65, the worst 22.00.
    checks = plain([0.35, 0.25, 0.20, 0.15, 0.05], [10, 4, 8, 2, 5])
    assert best_order(checks) == [3, 1, 0, 2, 4]
    assert minutes_of(best_order(checks), checks) == pytest.approx(13.65)
    assert max(minutes_of(order, checks) for order in permutations(range(5))) == pytest.approx(22.0)


def test_panel_is_taken_off_for_what_is_worth_it_behind_it():
    # Behind a panel of 10 minutes a sure find of 1 minute; before it a check that finds little.
    checks = [Check(0.1, 1, 5), Check(0.8, 1, 1, behind=(0,)), Check(0.1, 1, 1, behind=(0,))]
    assert best_order(checks, panels=[10]) == [1, 2, 0]
    assert minutes_of([1, 2, 0], checks, [10]) == pytest.approx(11 + 0.2 * 1 + 0.1 * 5)


def test_panel_that_is_off_already_costs_nothing():
    checks = [Check(0.3, 1, 5), Check(0.2, 1, 1, behind=(0,))]
    assert best_order(checks, panels=[30]) == [0, 1]
    assert best_order(checks, panels=[30], off=[0]) == [1, 0]


@st.composite
def cases(draw):
    """Up to six checks, up to three panels, one of which may stand behind another."""
    panels = draw(st.lists(st.integers(1, 30), max_size=3))
    paths = [(), *((panel,) for panel in range(len(panels)))] + ([(0, 1)] if len(panels) > 1 else [])
    if len(panels) > 1:
        paths.remove((1,))
    size = draw(st.integers(1, 6))
    weights = draw(st.lists(st.integers(1, 20), min_size=size, max_size=size))
    checks = [
        Check(
            weight / (sum(weights) + 5),
            draw(st.sampled_from([0.5, 0.8, 1.0])),
            draw(st.integers(1, 30)),
            draw(st.sampled_from(paths)),
        )
        for weight in weights
    ]
    return checks, panels


@given(cases())
def test_no_other_order_takes_less(case):
    checks, panels = case
    best = minutes_of(best_order(checks, panels), checks, panels)
    least = min(minutes_of(order, checks, panels) for order in permutations(range(len(checks))))
    assert best == pytest.approx(least, rel=1e-9)


def test_miss_makes_the_others_likelier_and_keeps_something_else():
    after = after_miss([0.5, 0.3], 0, 0.8)
    # 0.1, 0.3 and 0.2 for something else, of 0.6.
    assert after == pytest.approx([1 / 6, 0.5])


@pytest.mark.parametrize("check", [Check(1.5, 1, 1), Check(0.5, 1, 0), Check(0.5, 1, 1, behind=(3,))])
def test_nonsense_is_refused(check):
    with pytest.raises(ValueError, match="check 0"):
        best_order([check])


def test_draws_of_one_order_are_each_what_that_draw_would_give():
    checks, panels = [Check(0.5, 0.9, 20, (0,)), Check(0.3, 0.8, 5), Check(0.2, 1.0, 10, (0, 1))], [4, 6]
    chance, minutes = np.array([[0.5, 0.3, 0.2], [0.1, 0.2, 0.6]]), np.array([[20.0, 5, 10], [9, 12, 3]])
    drawn = minutes_of_draws([1, 0, 2], checks, (chance, minutes), panels)
    for row, found in enumerate(drawn):
        p, c = chance[row], minutes[row]
        by_hand = c[1] + (c[0] + 4) * (1 - p[1] * 0.8) + (c[2] + 6) * (1 - p[1] * 0.8 - p[0] * 0.9)
        assert found == pytest.approx(by_hand)
