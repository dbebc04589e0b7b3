"""Change with age: slopes of the mean cumulative function, and a variance that counts a machine once."""

import numpy as np
import pytest

from pipeline.estimators.mcf import Happenings, Windows, mean_cumulative
from pipeline.estimators.mcf_change import change_with_age, longest_stretch

WINDOWS = Windows([0, 0, 0, 0], [0, 0, 2, 5], [10, 6, 10, 10])
EVENTS = Happenings([0, 0, 1, 2, 2, 3, 3], [1, 7, 4, 4, 8, 9, 10])


def test_slopes_are_those_of_the_mean_cumulative_function():
    change = change_with_age(WINDOWS, EVENTS, start=0, split=5, end=10)
    # 1/2 at 1, 2/3 at 4; 1/3 at 7, 8, 9, 10: machine 1 left at 6.
    assert change.early == pytest.approx((1 / 2 + 2 / 3) / 5)
    assert change.late == pytest.approx((4 / 3) / 5)
    assert change.value == pytest.approx(change.late - change.early)
    assert (change.early_machines, change.late_machines) == (3, 4)


def test_variance_of_one_stretch_alone_is_that_of_the_mean_cumulative_function():
    # Nothing happens after the split, so the variance is that of M(5) / 5.
    early = Happenings([0, 1, 2, 2], [1, 4, 4, 5])
    change = change_with_age(WINDOWS, early, start=0, split=5, end=10)
    curve = mean_cumulative(WINDOWS, early, groups=1)
    half = (change.high - change.low) / 2
    # Four machines are seen in either stretch: t with 3 degrees of freedom, and 4/3.
    assert half == pytest.approx(3.1824463 * (curve.variance[-1] * 4 / 3) ** 0.5 / 5)


def test_influence_by_hand():
    windows, events = Windows([0, 0], [0, 0], [2, 2]), Happenings([0, 1], [1, 2])
    change = change_with_age(windows, events, start=0, split=1, end=2)
    # Machine 0: -(1 - 1/2)/2 and -(0 - ...): influences -1/2 and 1/2, variance 1/2, times 2/1.
    assert change.value == 0
    assert change.high == pytest.approx(12.7062047)


def test_machines_that_are_all_alike_say_nothing():
    windows, events = Windows([0, 0], [0, 0], [2, 2]), Happenings([0, 1], [1, 1])
    change = change_with_age(windows, events, start=0, split=1, end=2)
    assert (change.early, change.late) == (1, 0)
    assert np.isinf(change.high)


def test_ages_out_of_order_are_refused():
    with pytest.raises(ValueError, match="start < split < end"):
        change_with_age(WINDOWS, EVENTS, start=5, split=5, end=10)


def test_longest_stretch_with_enough_machines_does_not_look_at_events():
    windows = Windows([0] * 5, [0, 0, 3, 5, 5], [2, 4, 12, 9, 20])
    # Two are there on (0, 2], (3, 4] and (5, 12]; three on (5, 9].
    assert longest_stretch(windows, 2) == (5, 12)
    assert longest_stretch(windows, 3) == (5, 9)
    assert longest_stretch(windows, 4) is None
