"""The best van stock of a small case, exactly: a mixed-integer program solved by HiGHS."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from pipeline.planning.van import Floats, Ints, Tour
from pipeline.planning.van_limits import Limits

# Terms of the objective; beyond it a case is not small.
MOST_TERMS = 20_000


class TooLargeError(ValueError):
    """The case has more terms than are worked through exactly."""


def best_stock(tour: Tour, limits: Limits) -> Ints:
    """
    The stock within the limits that finishes most jobs.

    A chance to find pieces is a sum of steps, one for each piece; a product of chances is then a sum, over one step of
    each part, of products of step heights, counted when all those pieces are there. All heights are at least 0, so a
    term may be a number between 0 and 1 that is at most each of its pieces' 0 or 1.

    Raises
    ------
    TooLargeError
        If the case has more than MOST_TERMS terms.
    """
    top = np.maximum(tour.most, 1)
    first = np.concatenate([[0], np.cumsum(top)]).astype(np.int64)  # piece l of part j is first[j] + l - 1
    terms = _terms(tour, first)
    count = int(first[-1])
    objective = np.concatenate([np.zeros(count), [-height for height, _ in terms]])
    rows, columns, signs, upper = _constraints(tour, limits, top, first, terms)
    matrix = coo_array((signs, (rows, columns)), shape=(len(upper), len(objective)))
    solved = milp(
        objective,
        constraints=LinearConstraint(matrix.tocsr(), -np.inf, np.array(upper)),
        integrality=np.concatenate([np.ones(count), np.zeros(len(terms))]),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 1e-9},
    )
    there = np.round(solved.x[:count]).astype(np.int64)
    return np.array([there[first[j] : first[j + 1]].sum() for j in range(len(top))], dtype=np.int64)


def _terms(tour: Tour, first: Ints) -> list[tuple[float, tuple[int, ...]]]:
    needs = tour.needs
    terms: list[tuple[float, tuple[int, ...]]] = []
    for pattern, share in enumerate(needs.share.tolist()):
        rows = np.arange(needs.offsets[pattern], needs.offsets[pattern + 1])
        steps = [_steps(tour, int(row)) for row in rows.tolist()]
        if len(terms) + int(np.prod([len(step) for step in steps])) > MOST_TERMS:
            raise TooLargeError(f"more than {MOST_TERMS} terms")
        for chosen in product(*(range(len(step)) for step in steps)):
            height = np.ones(tour.jobs)
            for step, level in zip(steps, chosen, strict=True):
                height = height * step[level]
            worth = share * float(height.sum())
            if worth > 0.0:
                pieces = tuple(
                    int(first[needs.part[row]]) + int(needs.pieces[row]) - 1 + level
                    for row, level in zip(rows.tolist(), chosen, strict=True)
                )
                terms.append((worth, pieces))
    return terms


def _steps(tour: Tour, row: int) -> list[Floats]:
    """By how much the chance rises with each piece from the first that is enough, for the job that comes k-th."""
    part, pieces = int(tour.needs.part[row]), int(tour.needs.pieces[row])
    at = np.array([row])
    chances = [
        tour.factors_of(at, np.array([level]))[0] for level in range(pieces - 1, int(tour.most[part]) + 1)
    ]
    return [after - before for before, after in pairwise(chances)]


def _constraints(
    tour: Tour, limits: Limits, top: Ints, first: Ints, terms: list[tuple[float, tuple[int, ...]]]
) -> tuple[list[int], list[int], list[float], list[float]]:
    rows: list[int] = []
    columns: list[int] = []
    signs: list[float] = []
    upper: list[float] = []

    def add(entries: list[tuple[int, float]], limit: float) -> None:
        for column, sign in entries:
            rows.append(len(upper))
            columns.append(column)
            signs.append(sign)
        upper.append(limit)

    count = int(first[-1])
    for number, (_, pieces) in enumerate(terms):
        for piece in pieces:
            add([(count + number, 1.0), (piece, -1.0)], 0.0)
    for part in range(tour.needs.parts):
        for level in range(1, int(top[part])):
            add([(int(first[part]) + level, 1.0), (int(first[part]) + level - 1, -1.0)], 0.0)
    each = [
        (int(first[part]) + level, part)
        for part in range(tour.needs.parts)
        for level in range(int(top[part]))
    ]
    if np.isfinite(limits.budget):
        add([(piece, float(limits.cost[part])) for piece, part in each], limits.budget)
    if np.isfinite(limits.litres):
        add([(piece, float(limits.volume[part])) for piece, part in each], limits.litres)
    if limits.lines is not None:
        add([(int(first[part]), 1.0) for part in range(tour.needs.parts)], float(limits.lines))
    return rows, columns, signs, upper
