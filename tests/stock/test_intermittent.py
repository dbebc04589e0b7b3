"""Forecasts from a series alone have their recomputed values: test_stores holds the rates of stock against them."""

import pytest

from tests.twins.intermittent import croston, size_and_chance, unbiased_croston

# reference/checks.md 9 (constructed series, recomputed there; statsforecast gives the same to 1e-12).
SERIES = (0, 0, 2, 0, 0, 0, 1, 0, 3, 0, 0, 1, 0, 0, 0, 0, 2, 0, 1, 0)


def test_forecasts_of_a_series_of_few_demands_have_the_recomputed_values():
    level, interval = croston(SERIES, 0.1)
    assert (level, interval) == (pytest.approx(1.826290, abs=5e-7), pytest.approx(3.072710, abs=5e-7))
    assert level / interval == pytest.approx(0.5943580748, abs=5e-11)
    assert unbiased_croston(SERIES, 0.1) == pytest.approx(0.5646401711, abs=5e-11)
    size, chance = size_and_chance(SERIES, 0.2, 0.1)
    assert (size, chance) == (pytest.approx(1.692480, abs=5e-7), pytest.approx(0.2794236206, abs=5e-11))
    assert size * chance == pytest.approx(0.4729188894, abs=5e-11)
