"""How two columns go together: one determines the other, one comes before the other, one repeats within the other."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np

from pipeline.recognition.columns import Codes, Column, Values

FEWEST_ROWS = 12  # in groups of two or more; fewer may agree by chance
_LAST_NUMBER = re.compile(r"(\d+)\D*$")


def determines(one: Column, other: Column) -> float | None:
    """
    How far one column says what stands in another, 0 as by chance to 1 always; None where too little repeats.

    Of the rows in which both are filled and the first repeats, how many hold the most frequent cell of their group,
    beyond what the most frequent cell of all would give.
    """
    return _determines(one, other)


@lru_cache(maxsize=1 << 12)
def _determines(one: Column, other: Column) -> float | None:
    return agreement(one.codes, other.codes)


def agreement(one: Codes, other: Codes) -> float | None:
    """`determines` of the codes of two columns, -1 for an empty cell."""
    both = (one >= 0) & (other >= 0)
    left, right = one[both].astype(np.int64), other[both].astype(np.int64)
    if not left.size:
        return None
    pairs, counts = np.unique(left << 32 | right, return_counts=True)
    groups = pairs >> 32
    starts = np.flatnonzero(np.r_[True, groups[1:] != groups[:-1]])
    size, most = np.add.reduceat(counts, starts), np.maximum.reduceat(counts, starts)
    several = size > 1
    rows = int(size[several].sum())
    if rows < FEWEST_ROWS:
        return None
    agreed = float(most[several].sum()) / rows
    chance = float(np.bincount(right).max()) / right.size
    # A group always agrees with one of its own rows.
    chance = max(chance, float(several.sum()) / rows)
    return (agreed - chance) / (1 - chance) if chance < 1 else 0.0


def together(one: Column, other: Column) -> float:
    """How far two columns are filled in the same rows: -1 never, 0 as by chance, 1 always."""
    a, b = one.codes >= 0, other.codes >= 0
    if a.all() or b.all() or not a.any() or not b.any():
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def rising(column: Column) -> float:
    """Share of steps from one different number to the next, down the file, that go up."""
    numbers = [
        int(found.group(1)[-15:]) if (found := _LAST_NUMBER.search(text)) else -1 for text in column.texts
    ]
    values = np.append(np.asarray(numbers, dtype=np.int64), -1)[column.codes]
    values = values[values >= 0]
    steps = np.diff(values)
    steps = steps[steps != 0]
    return float((steps > 0).mean()) if steps.size >= 2 else 0.0


def side_by_side(column: Column) -> float:
    """Of the rows whose cell repeats, the share that stands beside an equal one; 0 where nothing repeats."""
    codes = column.codes[column.codes >= 0]
    counts = np.bincount(codes) if codes.size else np.zeros(1, dtype=np.int64)
    repeated = counts[codes] > 1
    if not repeated.any():
        return 0.0
    beside = np.r_[False, codes[1:] == codes[:-1]] | np.r_[codes[1:] == codes[:-1], False]
    return float((beside & repeated).sum() / repeated.sum())


def within(one: Column, other: Column) -> float:
    """Share of the distinct cells of one column that stand in the other too."""
    known = {text.casefold() for text in other.texts}
    texts = one.known[0]
    return sum(text.casefold() in known for text in texts) / len(texts) if texts else 0.0


def before(one: Values, other: Values) -> tuple[float, float, int]:
    """Of two columns of days: share of rows in which the first is not later, median gap in days, and rows with both."""
    gap = (other - one)[~np.isnan(other - one)]
    if not gap.size:
        return 0.0, 0.0, 0
    # A day without a time of day is its first moment: the same day is never before itself.
    return float((gap > -1).mean()), float(np.median(gap)), int(gap.size)
