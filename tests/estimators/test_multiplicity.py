"""False discovery rate: the published example and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from pipeline.estimators.multiplicity import benjamini_hochberg

P_VALUES = st.lists(st.floats(0, 1), max_size=60)


def test_the_example_of_1995_rejects_four(reference):
    # Benjamini & Hochberg (1995): at .05 four are rejected (read), by Bonferroni three (memory).
    p = reference("bh1995")["p"]
    adjusted = benjamini_hochberg(p)
    assert (adjusted <= 0.05).sum() == 4
    assert (p <= 0.05 / 15).sum() == 3
    # Adjusted values recomputed with statsmodels 0.15.0.
    expected = [0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765, 0.486]
    expected += [0.58118182, 0.714875, 0.75323077, 0.81321429, 1]
    assert_allclose(adjusted, expected, atol=5e-9)


@given(P_VALUES)
def test_adjusted_values_lie_between_the_value_and_bonferroni(p):
    adjusted = benjamini_hochberg(p)
    assert (adjusted >= p).all()
    assert (adjusted <= np.minimum(1, np.array(p) * len(p)) + 1e-15).all()


@given(P_VALUES, st.randoms())
def test_order_does_not_matter(p, random):
    places = list(range(len(p)))
    random.shuffle(places)
    assert_array_equal(benjamini_hochberg([p[place] for place in places]), benjamini_hochberg(p)[places])


@given(P_VALUES.filter(bool), st.floats(0.001, 0.5))
def test_flagged_are_those_of_the_step_up_rule(p, q):
    ordered = sorted(p)
    passed = [rank for rank, value in enumerate(ordered, 1) if value * len(p) / rank <= q]
    assert (benjamini_hochberg(p) <= q).sum() == (max(passed) if passed else 0)


def test_one_test_is_left_alone_and_ties_stay_ties():
    assert_array_equal(benjamini_hochberg([0.03]), [0.03])
    assert_array_equal(benjamini_hochberg([0.01, 0.01, 1.0]), [0.015, 0.015, 1.0])


@pytest.mark.parametrize(
    ("p", "words"), [([1.2], "p must be at most 1"), ([-0.1], "p must be at least 0"), ([[0.1]], "flat")]
)
def test_what_cannot_be_is_refused_by_name(p, words):
    with pytest.raises(ValueError, match=words):
        benjamini_hochberg(p)
