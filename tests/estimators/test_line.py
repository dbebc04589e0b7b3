"""A line to draw gives at each day what the table gives."""

import numpy as np

from pipeline.estimators.competing import incidence_of_records
from pipeline.estimators.line import incidence_line


def test_each_point_of_the_line_is_the_probability_by_that_day():
    rng = np.random.default_rng(7)
    n = 200
    group, unit = rng.integers(2, size=n), rng.integers(40, size=n)
    time, cause = rng.integers(0, 100, size=n), rng.integers(-1, 2, size=n)
    days = [0, 10, 55, 99, 120]
    line = incidence_line(group, time, cause, unit, groups=2, days=days, n_causes=2)
    for at, day in enumerate(days):
        one = incidence_of_records(group, time, cause, unit, groups=2, day=day, n_causes=2)
        for name in ("value", "low", "high", "at_risk"):
            assert np.array_equal(getattr(line, name)[:, at], getattr(one, name))
