"""The rules of too few to say, at and beside each limit."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.estimators.proportions import wilson
from pipeline.estimators.sample import (
    age_sample,
    band_of,
    can_tell,
    mean_sample,
    proportion_sample,
    rate_sample,
)


@pytest.mark.parametrize(
    ("n_eff", "width", "word"),
    [
        (0, 1, "too few"),
        (9.99, 0.2, "too few"),
        (10, 0.2, "rough"),
        (29.9, 0.2, "rough"),
        (30, 0.2, "enough"),
        (30, 0.3, "enough"),
        (30, 0.301, "rough"),
        (9, 0.9, "too few"),
    ],
)
def test_a_proportion_needs_ten_and_then_thirty_and_a_width_of_at_most_thirty_points(n_eff, width, word):
    assert proportion_sample(n_eff, 0.1, 0.1 + width) == word


def test_a_size_short_of_its_threshold_by_rounding_only_reaches_it():
    assert proportion_sample(29.999999999999996, 0.0, 0.1) == "enough"
    assert proportion_sample(9.999999999999998, 0.0, 0.1) == "rough"


def test_half_of_thirty_five_is_rough_because_its_interval_is_wide():
    assert list(proportion_sample([35, 35], *wilson([17, 1], 35))) == ["rough", "enough"]


def test_a_rate_needs_three_and_then_ten_events():
    assert list(rate_sample([0, 2, 3, 9, 10])) == ["too few", "too few", "rough", "rough", "enough"]


def test_a_mean_needs_ten_and_then_thirty_values():
    assert list(mean_sample([0, 9, 10, 29, 30])) == ["too few", "too few", "rough", "rough", "enough"]


@pytest.mark.parametrize(
    ("first", "second", "low", "high", "answer"),
    [
        (20, 20, 0.01, 0.2, True),
        (19, 500, 0.01, 0.2, False),
        (20, 20, 0.0, 0.2, False),
        (20, 20, -0.3, -0.1, True),
        (20, 20, -0.1, 0.1, False),
        (19.999999999999996, 20, 0.01, 0.2, True),
    ],
)
def test_a_comparison_needs_twenty_a_side_and_an_interval_off_zero(first, second, low, high, answer):
    assert can_tell(first, second, low, high) == answer


def test_groups_are_banded_not_ranked():
    low, high = np.array([0.01, -0.2, -0.1]), np.array([0.2, -0.01, 0.1])
    assert list(band_of(50, 50, low, high)) == ["worse", "better", "cannot tell"]
    assert list(band_of(50, 50, low, high, more_is_worse=False)) == ["better", "worse", "cannot tell"]
    assert list(band_of(19, 50, low, high)) == ["cannot tell"] * 3


def test_what_cannot_be_is_refused_by_name():
    with pytest.raises(ValueError, match="n_eff must be at least 0"):
        proportion_sample(-1, 0, 1)
    with pytest.raises(ValueError, match="events must be whole"):
        rate_sample(2.5)


def test_a_probability_from_machines_that_repeat_needs_thirty_of_them():
    assert list(proportion_sample([40, 40], [0.1, 0.1], [0.3, 0.3], [29, 30])) == ["rough", "enough"]
    # However few machines: where the effective size reaches ten, a value is given.
    assert proportion_sample(10, 0.1, 0.3, 4) == "rough"


def test_a_mean_over_ages_needs_twenty_machines_at_each_of_them():
    assert list(age_sample([2, 12, 12, 5], [50, 19, 20, 50])) == ["too few", "rough", "enough", "rough"]
