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
from scipy.sparse import csr_array, hstack

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
    reader = _Reader.of(counts, shown, sums)
    return np.array([reader.range_of(cell) for cell in cells.tolist()]).reshape(-1, 2)


@dataclass(frozen=True)
class _Reader:
    """All tables that agree with what is published: matrix @ table = 0, each cell within its bounds."""

    matrix: csr_array
    bounds: npt.NDArray[np.float64]

    @classmethod
    def of(cls, counts: Counts, shown: Mask, sums: Sequence[Sum]) -> _Reader:
        """Every sum counts, also one that is printed whole: its rounding is bounded by what it stands in."""
        printed = rounded(counts)
        low = np.where(shown, np.maximum(printed - SLACK, 0), 0).astype(float)
        high = np.where(shown, printed + SLACK, np.where(counts == 0, 0, np.inf)).astype(float)
        return cls(_matrix(counts.size, sums), np.column_stack((low, high)))

    def range_of(self, cell: int) -> tuple[float, float]:
        """Least and greatest value of a cell."""
        aim = np.zeros(self.bounds.shape[0])
        aim[cell] = 1.0
        ends = []
        for direction in (1.0, -1.0):
            solved = linprog(
                direction * aim,
                A_eq=self.matrix,
                b_eq=np.zeros(self.matrix.shape[0]),
                bounds=self.bounds,
                method="highs",
            )
            ends.append(direction * solved.fun if solved.status == 0 else -direction * np.inf)
        return ends[0], ends[1]

    def table_past(
        self, cells: npt.NDArray[np.int64], limit: float, direction: float
    ) -> npt.NDArray[np.float64]:
        """
        A table in which as many of some cells as can be are at most the limit (direction 1) or at least (-1).

        What a cell is short of the limit counts as a further unknown, and the sum of those is made small.
        """
        size, more = self.bounds.shape[0], len(cells)
        short = csr_array(
            (
                np.concatenate([np.full(more, direction), np.full(more, -1.0)]),
                (np.tile(np.arange(more), 2), np.concatenate([cells, size + np.arange(more)])),
            ),
            shape=(more, size + more),
        )
        solved = linprog(
            np.concatenate([np.zeros(size), np.ones(more)]),
            A_ub=short,
            b_ub=np.full(more, direction * limit),
            A_eq=hstack([self.matrix, csr_array((self.matrix.shape[0], more))]),
            b_eq=np.zeros(self.matrix.shape[0]),
            bounds=np.vstack([self.bounds, np.tile([0.0, np.inf], (more, 1))]),
            method="highs",
        )
        return np.asarray(solved.x[:size]) if solved.status == 0 else np.full(size, np.nan)


def _exposed(
    counts: Counts, shown: Mask, sums: Sequence[Sum], cells: npt.NDArray[np.int64], threshold: int
) -> npt.NDArray[np.int64]:
    reader = _Reader.of(counts, shown, sums)
    asked = cells[~_may_be_either(reader, cells, threshold)]
    known = ranges(counts, shown, sums, asked)
    tells = (known[:, 0] > 1 + TOLERANCE) | (known[:, 1] < threshold - 1 - TOLERANCE)
    return asked[tells]


def _may_be_either(reader: _Reader, cells: npt.NDArray[np.int64], threshold: int) -> Mask:
    """
    Cells for which there is a table that agrees with everything published and has 1 there, and another with threshold - 1.

    One table shows it for many cells at a time, so most are never asked about one by one. Those that no table was found for
    are drawn from again, alone among themselves, until a round shows none of them; about the rest nothing is said.
    """
    may = np.ones(len(cells), dtype=np.bool_)
    for limit, direction in ((1.0, 1.0), (threshold - 1.0, -1.0)):
        left = np.arange(len(cells))
        while left.size:
            table = reader.table_past(cells[left], limit, direction)
            shows = direction * (table[cells[left]] - limit) <= TOLERANCE
            if not shows.any():
                break
            left = left[~shows]
        may[left] = False
    return may


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
