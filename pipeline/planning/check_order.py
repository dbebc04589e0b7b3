"""
In which order to check: one fault, checks that find it with some sureness, panels that have to come off first.

Without panels the best order is by decreasing p d / c: what a check finds per minute (Kadane and Simon, 1977). Checks
behind a panel form a tree below it; then the best order is that of Horn (1972) for jobs with precedence in an out-tree:
a panel with the best-ratio beginning of what lies behind it is one block, the rest compete alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
EQUAL = 1e-12


@dataclass(frozen=True)
class Check:
    """
    One check.

    Attributes
    ----------
    probability : float
        That its fault is the one, 0 … 1.
    detection : float
        That it finds its fault where it is the one, 0 … 1.
    minutes : float
        That it takes, above 0.
    behind : tuple of int
        Panels that must be off, as positions in the panels' minutes; each stands behind the one before it.
    """

    probability: float
    detection: float
    minutes: float
    behind: tuple[int, ...] = ()


def expected_minutes(probability: ArrayLike, minutes: ArrayLike, detection: ArrayLike = 1.0) -> float:
    """
    Expected minutes of checks in the order given, stopping when the fault is found.

    Parameters
    ----------
    probability, minutes : array_like, (checks,)
        In the order in which they are made.
    detection : array_like, (checks,) or scalar

    Returns
    -------
    float
        Sum of c_k (1 - sum over j < k of p_j d_j).
    """
    found = np.asarray(probability, dtype=np.float64) * np.asarray(detection, dtype=np.float64)
    before = np.concatenate([[0.0], np.cumsum(found)[:-1]])
    return float(np.sum(np.asarray(minutes, dtype=np.float64) * (1.0 - before)))


def after_miss(probability: ArrayLike, check: int, detection: float) -> Floats:
    """
    Probabilities after a check that found nothing.

    Parameters
    ----------
    probability : array_like, (faults,)
        May add up to less than 1: the rest is something else.
    check : int
        The fault that was looked for.
    detection : float

    Returns
    -------
    array, (faults,)
        Of the same total chance of being one of these or something else, which adds up to 1 again.
    """
    left = np.array(probability, dtype=np.float64)
    rest = max(0.0, 1.0 - float(left.sum()))
    left[check] *= 1.0 - detection
    whole = float(left.sum()) + rest
    return left / whole if whole > 0.0 else left


def best_order(checks: Sequence[Check], panels: Sequence[float] = (), off: Sequence[int] = ()) -> list[int]:
    """
    Order of checks with the least expected minutes.

    Parameters
    ----------
    checks : sequence of Check
    panels : sequence of float
        Minutes to take each panel off.
    off : sequence of int
        Panels that are off already: they cost nothing more.

    Returns
    -------
    list of int
        Positions of the checks, first to last; equal ones in the order given.

    Raises
    ------
    ValueError
        If a probability or detection is out of 0 … 1, a time is not above 0, or a panel is unknown.
    """
    _refuse_nonsense(checks, panels)
    tree = _Tree(checks, panels, frozenset(off))
    return [node for block in tree.merged(None) for node in block.checks]


def minutes_of(
    order: Sequence[int], checks: Sequence[Check], panels: Sequence[float] = (), off: Sequence[int] = ()
) -> float:
    """Expected minutes of an order, panels taken off when first needed."""
    probability, minutes = (
        np.array([[getattr(check, name) for check in checks]], dtype=np.float64)
        for name in ("probability", "minutes")
    )
    return float(minutes_of_draws(order, checks, (probability, minutes), panels, off)[0])


def minutes_of_draws(
    order: Sequence[int],
    checks: Sequence[Check],
    draws: tuple[Floats, Floats],
    panels: Sequence[float] = (),
    off: Sequence[int] = (),
) -> Floats:
    """
    Expected minutes of one order under many draws of what is not known surely.

    Parameters
    ----------
    order : sequence of int
        Positions of the checks that are made, first to last.
    checks : sequence of Check
        What they find and stand behind; their own chances and minutes are not used.
    draws : two arrays, (draws, checks)
        Probability and minutes of every check, whether or not it is made.
    panels : sequence of float
        Minutes to take each panel off.
    off : sequence of int
        Panels that are off already.

    Returns
    -------
    array, (draws,)
        Sum of (c_k and panels not yet off) times the chance that nothing was found before.
    """
    (probability, minutes), done = draws, set(off)
    total, found = np.zeros(len(probability)), np.zeros(len(probability))
    for number in order:
        check = checks[number]
        needed = [panel for panel in check.behind if panel not in done]
        total += (minutes[:, number] + sum(panels[panel] for panel in needed)) * (1.0 - found)
        found += probability[:, number] * check.detection
        done |= set(needed)
    return total


@dataclass(frozen=True)
class _Block:
    """Checks made one after the other, the panels for them taken off first."""

    checks: tuple[int, ...]
    minutes: float
    finds: float
    first: int  # place of its first check, to keep equal blocks in the order given

    @property
    def ratio(self) -> float:
        return self.finds / self.minutes if self.minutes > 0.0 else np.inf


class _Tree:
    """Panels behind panels, checks behind panels; each subtree gives its blocks in order of falling ratio."""

    def __init__(self, checks: Sequence[Check], panels: Sequence[float], off: frozenset[int]) -> None:
        self.checks, self.panels = checks, panels
        self.behind: dict[int | None, list[int]] = {}
        self.inner: dict[int | None, list[int]] = {}
        for number, check in enumerate(checks):
            path = [panel for panel in check.behind if panel not in off]
            self.behind.setdefault(path[-1] if path else None, []).append(number)
            for outer, panel in pairwise([None, *path]):
                inside = self.inner.setdefault(outer, [])
                if panel is not None and panel not in inside:
                    inside.append(panel)

    def merged(self, panel: int | None) -> list[_Block]:
        """Blocks of everything behind a panel (None: of everything), best first, the panel in the first of them."""
        blocks = [
            _Block(
                (number,),
                self.checks[number].minutes,
                self.checks[number].probability * self.checks[number].detection,
                number,
            )
            for number in self.behind.get(panel, [])
        ]
        for inner in self.inner.get(panel, []):
            blocks += self.merged(inner)
        blocks.sort(key=lambda block: (-block.ratio, block.first))
        if panel is None:
            return blocks
        # The panel finds nothing by itself: it takes along as much of what lies behind it as does not lower its ratio.
        head = _Block((), float(self.panels[panel]), 0.0, blocks[0].first)
        # What is equal goes with it: left apart it might be put before the panel it stands behind.
        while blocks and blocks[0].ratio >= head.ratio * (1.0 - EQUAL):
            head = _joined(head, blocks.pop(0))
        return [head, *blocks]


def _joined(head: _Block, block: _Block) -> _Block:
    return _Block(
        head.checks + block.checks, head.minutes + block.minutes, head.finds + block.finds, head.first
    )


def _refuse_nonsense(checks: Sequence[Check], panels: Sequence[float]) -> None:
    for number, check in enumerate(checks):
        if not (0.0 <= check.probability <= 1.0 and 0.0 <= check.detection <= 1.0):
            raise ValueError(f"check {number}: probability and detection must lie between 0 and 1")
        if not check.minutes > 0.0:
            raise ValueError(f"check {number}: minutes must be above 0, but were {check.minutes:g}")
        if any(not 0 <= panel < len(panels) for panel in check.behind):
            raise ValueError(f"check {number} stands behind an unknown panel")
