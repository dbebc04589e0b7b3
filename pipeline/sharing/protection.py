"""
Which cells of linked tables may be published, so that no small count can be worked back.

A count below the threshold is left out (primary suppression). Where the totals that remain would let a reader work
out more about such a count than the rule itself says (that it is at least 1 and below the threshold), further cells
are left out (complementary suppression), the smallest first. What a reader can work out is found by linear
programming over everything published: Fischetti and Salazar (2000), J. Amer. Statist. Assoc. 95, 916-928, give the
attacker's problem; the greedy choice of complements here is our own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog
from scipy.sparse import csr_array

THRESHOLD = 10
ROUNDED_TO = 5
# Half of what rounding to 5 hides: a printed 10 was 8 to 12.
SLACK = ROUNDED_TO // 2
TOLERANCE = 1e-6

Counts = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Sum:
    """One total and the cells that add up to it, as positions."""

    total: int
    parts: tuple[int, ...]


def rounded(counts: Counts) -> Counts:
    """Counts to the nearest 5."""
    return ROUNDED_TO * ((counts + SLACK) // ROUNDED_TO)


def publishable(
    counts: Counts, sums: Sequence[Sum], threshold: int = THRESHOLD, never: Sequence[int] = ()
) -> Mask:
    """
    Choose the cells to publish.

    Parameters
    ----------
    counts : array of int, shape (n,)
        True counts of all cells, totals among them.
    sums : sequence of Sum
        Every total and what adds up to it; a cell may stand in many.
    threshold : int
        Smallest count that may be shown.
    never : sequence of int
        Cells that are not meant to be shown, however large: totals that are not printed tell nothing.

    Returns
    -------
    array of bool, shape (n,)
        Cells that may be shown, rounded to 5. Of every other cell with at least one job, a reader can work out no
        more than that it may be anything from 1 to threshold - 1.
    """
    shown = counts >= threshold
    small = (counts > 0) & ~shown
    shown[list(never)] = False
    groups = _sums_of(counts.size, sums)
    exposed = np.flatnonzero(small)
    while exposed.size:
        exposed = _exposed(counts, shown, sums, exposed, threshold)
        # Hiding a cell only loosens what can be worked out, so only cells that were still exposed are asked again.
        for number, cell in enumerate(exposed.tolist()):
            # What was hidden for another cell may have hidden this one too.
            if number and not _exposed(counts, shown, sums, exposed[number : number + 1], threshold).size:
                continue
            near = [sums[at] for at in groups[cell]]
            # Where all its own neighbours are hidden already, one further along the chain of sums tells.
            if not _hide_one(near, counts, shown):
                _hide_one(sums, counts, shown)
    return shown


def ranges(
    counts: Counts, shown: Mask, sums: Sequence[Sum], cells: npt.NDArray[np.int64]
) -> npt.NDArray[np.float64]:
    """
    What a reader can work out about cells that are not shown.

    The reader is taken to know which cells are empty, the printed counts, and every sum.

    Returns
    -------
    array of float, shape (len(cells), 2)
        Least and greatest value that agree with everything published; infinite where nothing bounds it.
    """
    printed = rounded(counts)
    low = np.where(shown, np.maximum(printed - SLACK, 0), 0).astype(float)
    high = np.where(shown, printed + SLACK, np.where(counts == 0, 0, np.inf)).astype(float)
    bounds = np.column_stack((low, high))
    matrix = _matrix(counts.size, sums)
    return np.array([_range_of(cell, matrix, bounds) for cell in cells.tolist()]).reshape(-1, 2)


def _exposed(
    counts: Counts, shown: Mask, sums: Sequence[Sum], cells: npt.NDArray[np.int64], threshold: int
) -> npt.NDArray[np.int64]:
    known = ranges(counts, shown, sums, cells)
    tells = (known[:, 0] > 1 + TOLERANCE) | (known[:, 1] < threshold - 1 - TOLERANCE)
    return cells[tells]


def _sums_of(size: int, sums: Sequence[Sum]) -> list[list[int]]:
    groups: list[list[int]] = [[] for _ in range(size)]
    for number, each in enumerate(sums):
        for cell in (each.total, *each.parts):
            groups[cell].append(number)
    return groups


def _hide_one(sums: Sequence[Sum], counts: Counts, shown: Mask) -> bool:
    """Hide the smallest cell shown in some sums, a part rather than a total; says whether there was one."""
    candidates = [
        (other == each.total, int(counts[other]), other)
        for each in sums
        for other in (each.total, *each.parts)
        if shown[other]
    ]
    if not candidates:
        return False
    shown[min(candidates)[2]] = False
    return True


def _matrix(size: int, sums: Sequence[Sum]) -> csr_array:
    """One row a sum: its parts less its total are nought."""
    rows = np.repeat(np.arange(len(sums)), [1 + len(each.parts) for each in sums])
    columns = np.array([cell for each in sums for cell in (each.total, *each.parts)], dtype=np.int64)
    signs = np.array([sign for each in sums for sign in (-1.0, *([1.0] * len(each.parts)))])
    return csr_array((signs, (rows, columns)), shape=(len(sums), size))


def _range_of(cell: int, matrix: csr_array, bounds: npt.NDArray[np.float64]) -> tuple[float, float]:
    """Every sum counts, also one that is printed whole: its rounding is bounded by what it stands in."""
    aim = np.zeros(bounds.shape[0])
    aim[cell] = 1.0
    ends = []
    for direction in (1.0, -1.0):
        solved = linprog(
            direction * aim, A_eq=matrix, b_eq=np.zeros(matrix.shape[0]), bounds=bounds, method="highs"
        )
        ends.append(direction * solved.fun if solved.status == 0 else -direction * np.inf)
    return ends[0], ends[1]
