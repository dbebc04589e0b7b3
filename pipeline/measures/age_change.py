"""Whether machines need more repairs as they age: two stretches of age, one number each, and their difference."""

from __future__ import annotations

from typing import Any

import numpy as np

from pipeline.estimators.mcf import Happenings, Windows
from pipeline.estimators.mcf_change import Change, change_with_age, longest_stretch
from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.sample import CANNOT_TELL, COMPARISON_MIN_N, RATE_ENOUGH_EVENTS, can_tell
from pipeline.measures.ageing import DAYS_A_YEAR, Curves

MORE, FEWER = "more", "fewer"


def change_columns(curves: Curves, level: float) -> list[dict[str, Any]]:
    """
    Repairs a year of each group in the lower and in the upper half of the time under observation.

    Compared is the longest stretch of ages at which 20 machines are there all along, cut at a whole year of age
    (`split_age_years`); nothing where no whole year lies within it, or fewer than ten repairs on either side. A group is said to need more or fewer only where the interval leaves out nought and
    the p-value, adjusted for all groups looked at, is below 1 - level. (With the whole line, down to 5 machines, the
    interval of a fleet of 60 machines with strong frailty held the truth in 88 %.)
    """
    found = [_compared(curves, at, level) for at in range(len(curves.keys))]
    adjusted = iter(benjamini_hochberg([change.p for change, _, _ in filter(None, found)]))
    return [{} if each is None else _columns(*each, float(next(adjusted)), level) for each in found]


def _compared(curves: Curves, at: int, level: float) -> tuple[Change, float, float] | None:
    """The change, and the ages (days) of its cut and its end."""
    windows, happenings = alone(curves, at)
    stretch = longest_stretch(windows, COMPARISON_MIN_N)
    split = None if stretch is None else _middle(windows, *stretch)
    if stretch is None or split is None:
        return None
    start, end = stretch
    change = change_with_age(windows, happenings, start=start, split=split, end=end, level=level)
    if min(change.early_events, change.late_events) < RATE_ENOUGH_EVENTS:
        return None
    return change, split, end


def _columns(change: Change, split: float, end: float, adjusted_p: float, level: float) -> dict[str, Any]:
    return {
        "split_age_years": round(split / DAYS_A_YEAR),
        "to_age_years": round(end / DAYS_A_YEAR, 1),
        "early_a_year": change.early * DAYS_A_YEAR,
        "late_a_year": change.late * DAYS_A_YEAR,
        "change": change.value * DAYS_A_YEAR,
        "change_low": change.low * DAYS_A_YEAR,
        "change_high": change.high * DAYS_A_YEAR,
        "change_adjusted_p": adjusted_p,
        "change_says": _says(change, adjusted_p, level),
    }


def alone(curves: Curves, at: int) -> tuple[Windows, Happenings]:
    """Give the windows and the events of one group, numbered anew."""
    mine = np.asarray(curves.windows.group) == at
    unit = np.asarray(curves.happenings.unit)
    kept = mine[unit]
    place = np.cumsum(mine) - 1
    entry, leave = curves.windows_of(at)
    return (
        Windows(np.zeros(len(entry), dtype=np.int64), entry, leave),
        Happenings(place[unit[kept]], np.asarray(curves.happenings.time)[kept]),
    )


def _says(change: Change, adjusted_p: float, level: float) -> str:
    told = can_tell(change.early_machines, change.late_machines, change.low, change.high)
    if not told or adjusted_p >= 1.0 - level:
        return CANNOT_TELL
    return MORE if change.value > 0.0 else FEWER


def _middle(windows: Windows, start: float, end: float) -> float | None:
    """Whole year of age that cuts the time under observation most nearly in half; None where no year lies within."""
    years = np.arange(int(max(start, 0.0) // DAYS_A_YEAR) + 1, int(np.ceil(end / DAYS_A_YEAR)))
    if not years.size:
        return None
    ages = years * DAYS_A_YEAR
    entry, leave = (np.clip(np.asarray(column), start, end) for column in (windows.entry, windows.exit))
    below = np.array([(np.minimum(leave, age) - np.minimum(entry, age)).sum() for age in ages])
    return float(ages[np.argmin(np.abs(below - (leave - entry).sum() / 2.0))])
