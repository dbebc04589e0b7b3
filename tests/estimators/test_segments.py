"""Running sums and products by group: one answer, whatever the groups are like."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from pipeline.estimators.segments import before, running_product, running_sum

# Few long ones, many short ones, uneven ones: each has its own way through.
SIZES = {
    "long": [400, 0, 350, 1],
    "short": [1, 2, 0, 3] * 9000,
    "uneven": [1, 0, 2] * 40 + [700] + [1] * 90,
    "none": [0, 0],
}


@pytest.mark.parametrize("sizes", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("columns", [(), (3,)])
def test_running_sums_and_products_are_those_of_each_group_alone(sizes, columns):
    rng = np.random.default_rng(3)
    offsets = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    values = rng.uniform(0.5, 1.5, (int(offsets[-1]), *columns))
    kept = values.copy()
    for work, alone in ((running_sum, np.cumsum), (running_product, np.cumprod)):
        groups = [alone(values[a:b], axis=0) for a, b in pairwise(offsets)]
        assert_array_equal(work(values, offsets), np.concatenate(groups))
    assert_array_equal(values, kept)


def test_one_row_earlier_starts_anew_in_every_group():
    assert_array_equal(before(np.array([1.0, 2, 3]), np.array([0, 2, 2, 3]), 9.0), [9, 1, 9])
