"""No small count can be worked back from what is published: attacked with a linear program of its own."""

import numpy as np
import pytest
from scipy.optimize import linprog

from pipeline.sharing.protection import THRESHOLD, Sum, publishable, rounded

SEEDS = 20
ALL_SEEDS = 200


def random_tables(seed):
    """Two tables that share the totals of their rows: counts as uneven as in a log, many of them nought."""
    rng = np.random.default_rng(seed)
    rows, widths = int(rng.integers(2, 7)), rng.integers(2, 12, size=2)
    scale = rng.uniform(5, 40)
    first = rng.poisson(rng.gamma(0.6, scale, (rows, widths[0])))
    # The second table spreads the same rows' jobs over other columns.
    shares = rng.dirichlet(np.full(widths[1], 0.5), size=rows)
    second = np.array(
        [rng.multinomial(total, share) for total, share in zip(first.sum(1), shares, strict=True)]
    )
    return first, second


def as_cells(first, second):
    """One vector of counts: grand total, row totals, then each table's cells and column totals; and its sums."""
    counts = [int(first.sum())]
    row_totals = range(1, 1 + len(first))
    counts += first.sum(1).tolist()
    sums = [Sum(0, tuple(row_totals))]
    for table in (first, second):
        start = len(counts)
        counts += table.ravel().tolist()
        places = np.arange(start, start + table.size).reshape(table.shape)
        columns = len(counts)
        counts += table.sum(0).tolist()
        sums += [Sum(row_totals[r], tuple(places[r].tolist())) for r in range(table.shape[0])]
        sums += [Sum(columns + c, tuple(places[:, c].tolist())) for c in range(table.shape[1])]
        sums.append(Sum(0, tuple(range(columns, columns + table.shape[1]))))
    return np.array(counts), sums


def attack(counts, shown, sums, cell):
    """Least and greatest count of a cell that agree with all that was published. Empty cells are known to be empty."""
    printed = rounded(counts)
    bounds = []
    for count, value, is_shown in zip(counts.tolist(), printed.tolist(), shown.tolist(), strict=True):
        bounds.append((value - 2, value + 2) if is_shown else (0, 0) if count == 0 else (0, None))
    matrix = np.zeros((len(sums), counts.size))
    for row, each in enumerate(sums):
        matrix[row, list(each.parts)] = 1
        matrix[row, each.total] = -1
    aim = np.zeros(counts.size)
    aim[cell] = 1
    ends = []
    for sign in (1, -1):
        solved = linprog(sign * aim, A_eq=matrix, b_eq=np.zeros(len(sums)), bounds=bounds, method="highs")
        ends.append(sign * solved.fun if solved.status == 0 else np.inf)
    return ends


def withstands(seed):
    counts, sums = as_cells(*random_tables(seed))
    shown = publishable(counts, sums)
    assert not shown[counts < THRESHOLD].any()
    for cell in np.flatnonzero((counts > 0) & (counts < THRESHOLD)):
        low, high = attack(counts, shown, sums, cell)
        assert low <= 1 + 1e-6, (seed, cell)
        assert high >= THRESHOLD - 1 - 1e-6, (seed, cell)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_published_totals_give_no_small_count_away(seed):
    withstands(seed)


@pytest.mark.full
@pytest.mark.parametrize("seed", range(SEEDS, ALL_SEEDS))
def test_published_totals_give_no_small_count_away_in_many_tables(seed):
    withstands(seed)


def test_without_complements_the_attack_succeeds():
    """The attack is no straw man: counts below the threshold alone left out are worked back from their totals."""
    beaten = 0
    for seed in range(SEEDS):
        counts, sums = as_cells(*random_tables(seed))
        shown = counts >= THRESHOLD
        for cell in np.flatnonzero((counts > 0) & (counts < THRESHOLD)):
            low, high = attack(counts, shown, sums, cell)
            beaten += low > 1 + 1e-6 or high < THRESHOLD - 1 - 1e-6
    assert beaten > 0


def test_one_small_cell_in_a_row_takes_a_second_one_with_it():
    # 9 of 101, the rest 92: printed 100 and 90 would leave 6 to 14 for the small one.
    counts = np.array([101, 92, 9])
    shown = publishable(counts, [Sum(0, (1, 2))])
    assert shown.tolist() == [True, False, False]


def test_cells_without_small_neighbours_are_all_shown():
    counts = np.array([60, 20, 40])
    assert publishable(counts, [Sum(0, (1, 2))]).all()


def test_counts_are_rounded_to_the_nearest_five():
    assert rounded(np.array([10, 12, 13, 17, 18])).tolist() == [10, 10, 15, 15, 20]
