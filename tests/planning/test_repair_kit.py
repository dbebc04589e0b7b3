"""The kit of Smith, Chambers and Shlifer: the worked example, and all kits tried on random cases."""

from itertools import product

import numpy as np
import pytest

from pipeline.planning.repair_kit import best_kit, kit_cost, prefix_costs

H = np.array([1, 2, 4, 3, 0.5, 6])
P = np.array([0.10, 0.05, 0.20, 0.02, 0.01, 0.15])


def test_worked_example():
    # Recomputed by brute force over all kits.
    kit = best_kit(P, H, 60)
    assert kit.parts == (0, 1, 2, 4, 5)
    assert kit.cost == pytest.approx(14.7)
    order = np.argsort(H / P)
    assert (order + 1).tolist() == [1, 3, 2, 6, 5, 4]
    expected = [26.155543, 23.395048, 17.993810, 17.519800, 14.788000, 14.700000, 16.500000]
    assert prefix_costs(P[order], H[order], 60) == pytest.approx(expected, abs=5e-7)


@pytest.mark.parametrize("seed", range(40))
def test_no_other_kit_costs_less(seed):
    rng = np.random.default_rng(seed)
    p, hold, penalty = rng.uniform(0.005, 0.3, 7), rng.uniform(0.1, 6, 7), rng.uniform(5, 100)
    least = min(kit_cost(carried, p, hold, penalty) for carried in product([False, True], repeat=7))
    assert best_kit(p, hold, penalty).cost == pytest.approx(least)
