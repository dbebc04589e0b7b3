"""
A trial between two fixes, tossed job by job: who gets which, and when enough is known.

The rule may be looked at after every job, and jobs may be added for as long as one likes: the evidence against a side is a
martingale where that side is right, so it reaches 1 / alpha there with probability alpha at most, however often it is looked at.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaln, xlog1py, xlogy

from pipeline.estimators.arrays import Floats, ints_of

CLEAN, REPLACE, OPEN = "clean", "replace", "not decided"
ALPHA = 0.05
# Lengths of the blocks, drawn anew for each, so that the last of a block cannot be guessed.
BLOCKS = (4, 6)
# Jobs followed to the end after which two fixes that are still level are as good as each other.
MOST = 400
# Jeffreys' prior, over which the likelihood is mixed.
HALF = 0.5
# Narrowings of the interval that holds the weakest evidence; each cuts it to two thirds.
STEPS = 60


class Line(NamedTuple):
    """Cleaning is the better one where its return rate is below base + slope * that of replacing."""

    base: float
    slope: float


class Counts(NamedTuple):
    """Jobs followed to the end and returns among them, numbers or arrays of one shape."""

    cleaned: ArrayLike
    cleaned_back: ArrayLike
    replaced: ArrayLike
    replaced_back: ArrayLike


def assignments(seed: int, n: int) -> list[str]:
    """
    Draw the first assignments of a trial: permuted blocks of 4 or 6, half of each.

    The same seed gives the same list, and a longer one begins with a shorter one.

    References
    ----------
    Permuted blocks: Matts, J. P. & Lachin, J. M. (1988), Control. Clin. Trials 9, 327-344, from memory.
    """
    rng = np.random.default_rng(seed)
    drawn: list[str] = []
    while len(drawn) < n:
        half = int(rng.choice(BLOCKS)) // 2
        block = np.array([CLEAN] * half + [REPLACE] * half)
        drawn += [str(word) for word in rng.permutation(block)]
    return drawn[:n]


def verdict(counts: Counts, line: Line, alpha: float = ALPHA) -> NDArray[np.str_]:
    """
    Tell which fix is better, as far as the jobs followed so far show; CLEAN, REPLACE or OPEN.

    Parameters
    ----------
    counts : Counts
        Of jobs whose whole guarantee has passed, whatever was done in the end.
    line : Line
        Fixed before the first toss.
    alpha : float
        Most that a wrong verdict may have of probability, over all looks together.

    Raises
    ------
    ValueError
        If a count is negative or not whole, or more are back than were followed.
    """
    against_cleaning, against_replacing = evidence(counts, line)
    enough = np.log(1.0 / alpha)
    return np.where(against_cleaning >= enough, REPLACE, np.where(against_replacing >= enough, CLEAN, OPEN))


def evidence(counts: Counts, line: Line) -> tuple[Floats, Floats]:
    """
    Logarithms of the evidence against cleaning being the better one, and against replacing being it.

    The weakest evidence, over all pairs of return rates on a side of the line, of the product of two beta-binomial mixture
    martingales: B(s + 1/2, n - s + 1/2) / B(1/2, 1/2) / (p^s (1 - p)^(n - s)) for each fix.

    References
    ----------
    Ville, J. (1939), Etude critique de la notion de collectif; Robbins, H. (1970), Ann. Math. Stat. 41, 1397-1409; for sets
    of hypotheses the least of the martingales: Howard, S. R., Ramdas, A., McAuliffe, J. & Sekhon, J. (2021), Ann. Stat.
    49, 1055-1080. From memory.
    """
    n_c, s_c, n_r, s_r = (ints_of(name, given, at_least=0) for name, given in counts._asdict().items())
    if (s_c > n_c).any() or (s_r > n_r).any():
        raise ValueError("no more jobs can be back than were followed")
    n_c, s_c, n_r, s_r = np.broadcast_arrays(n_c, s_c, n_r, s_r)
    on_line = _weakest_on_line(n_c, s_c, n_r, s_r, line)
    anywhere = _mixture(s_c, n_c, _share(s_c, n_c)) + _mixture(s_r, n_r, _share(s_r, n_r))
    below = _share(s_c, n_c) <= line.base + line.slope * _share(s_r, n_r)
    # What was seen lies on one side of the line: there nothing speaks against that side, and the line is what speaks
    # for the other one least.
    return np.where(below, anywhere, on_line), np.where(below, on_line, anywhere)


def _share(back: NDArray[np.int64], n: NDArray[np.int64]) -> Floats:
    return np.asarray(np.where(n > 0, back / np.maximum(n, 1), 0.5), dtype=np.float64)


def _mixture(back: NDArray[np.int64], n: NDArray[np.int64], p: Floats) -> Floats:
    mixed = betaln(back + HALF, n - back + HALF) - betaln(HALF, HALF)
    return np.asarray(mixed - xlogy(back, p) - xlog1py(n - back, -p), dtype=np.float64)


def _weakest_on_line(
    n_c: NDArray[np.int64],
    s_c: NDArray[np.int64],
    n_r: NDArray[np.int64],
    s_r: NDArray[np.int64],
    line: Line,
) -> Floats:
    """Least evidence along the line within the square of rates; it is convex along it, so thirds close in on it."""
    ends = _ends(line)
    if ends is None:
        return np.full(n_c.shape, np.inf)
    low, high = (np.full(n_c.shape, end) for end in ends)

    def at(q: Floats) -> Floats:
        return _mixture(s_c, n_c, np.clip(line.base + line.slope * q, 0.0, 1.0)) + _mixture(s_r, n_r, q)

    for _ in range(STEPS):
        first, second = low + (high - low) / 3.0, high - (high - low) / 3.0
        is_left = at(first) <= at(second)
        low, high = np.where(is_left, low, first), np.where(is_left, second, high)
    return at((low + high) / 2.0)


def _ends(line: Line) -> tuple[float, float] | None:
    """Return rates of replacing between which the line runs through the square; None where it does not."""
    if line.slope == 0.0:
        return (0.0, 1.0) if 0.0 < line.base < 1.0 else None
    crossings = sorted((-line.base / line.slope, (1.0 - line.base) / line.slope))
    low, high = max(crossings[0], 0.0), min(crossings[1], 1.0)
    return (low, high) if low < high else None
