"""Figures in words. Below 50 counts come before percentages; every number has its unit; nothing is "always" or "never"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

COUNTS_FIRST_BELOW = 50
NARROW = 0.05
PERCENT = "\u00a0%"  # the sign stays on the line of its number
DONE = {
    "replace": "new one fitted",
    "repair": "repaired",
    "free": "freed",
    "clean": "cleaned",
    "clear blockage": "blockage cleared",
    "adjust": "adjusted",
    "reset": "reset",
    "descale": "descaled",
    "reseat": "reseated",
}


@dataclass(frozen=True)
class Told:
    """An answer: what can be said, and what cannot be told yet."""

    sure: str
    undecided: str = ""


def whole(number: float) -> str:
    """A count with thin groups of thousands: 12,345."""
    return f"{number:,.0f}"


def figure(number: float) -> str:
    """A measured number with about two figures that mean something: 0.42, 4.2, 42, 420; a whole one stays whole."""
    size = abs(number)
    if size >= 10 or number == round(number):
        return f"{number:,.0f}"
    return f"{number:.1f}" if size >= 1 else f"{number:.2f}".rstrip("0").rstrip(".") or "0"


def percent(share: float, decimals: int = 0) -> str:
    """A share as a percentage."""
    return f"{share * 100:.{decimals}f}{PERCENT}"


def decimals_of(row: dict[str, Any]) -> int:
    """How many decimals the percentages of a share bear: one where its range is narrower than five points."""
    return 1 if row["high"] - row["low"] < NARROW else 0


def likely_share(row: dict[str, Any]) -> str:
    """The range of a share: in every ten where counts lead, else in per cent."""
    low, high = row["low"], row["high"]
    if row["denominator"] >= COUNTS_FIRST_BELOW:
        decimals = decimals_of(row)
        return f"likely {low * 100:.{decimals}f} to {percent(high, decimals)}"
    of = 10 if high - low >= 0.15 else 100
    return f"likely between {low * of:.0f} and {high * of:.0f} in every {of}"


def share_told(row: dict[str, Any]) -> str:
    """A share with its counts and interval, in the order that its size asks for."""
    return f"{counts_of(row)}{share_after_counts(row)}"


def counts_of(row: dict[str, Any]) -> str:
    """9 of 14."""
    return f"{whole(row['numerator'])} of {whole(row['denominator'])}"


def share_after_counts(row: dict[str, Any]) -> str:
    """What follows the counts: the percentage from 50 on, and the likely range."""
    if row["value"] is None:
        return "; too few to say"
    likely = likely_share(row)
    if row["denominator"] < COUNTS_FIRST_BELOW:
        return f"; {likely}"
    return f", that is {percent(row['value'], decimals_of(row))} ({likely})"


def beside(row: dict[str, Any], ending: str) -> dict[str, Any]:
    """The second share of a row (`value_repeat`, `low_repeat` …) as a row of its own."""
    names = ("value", "low", "high", "numerator", "denominator", "sample")
    return {name: row.get(f"{name}_{ending}", row.get(name)) for name in names}


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def share_said(row: dict[str, Any]) -> str:
    """The short form beside a row of a chart."""
    counts = f"{whole(row['numerator'])} of {whole(row['denominator'])}"
    if row["value"] is None:
        return f"{counts} · too few to say"
    text = (
        counts
        if row["denominator"] < COUNTS_FIRST_BELOW
        else f"{percent(row['value'], decimals_of(row))} · {counts}"
    )
    return text + (" · rough" if row["sample"] == "rough" else "")


def day(moment: date | datetime) -> str:
    """3 Mar 2025, the same in every locale."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{moment.day} {months[moment.month - 1]} {moment.year}"


def month(moment: date | datetime) -> str:
    """Mar 2025, the same in every locale."""
    return day(moment).split(" ", 1)[1]


def window(row: dict[str, Any]) -> str:
    """The window of a figure; its end is the last day that counts."""
    return f"{day(row['from'])} to {day(row['complete_to'] - timedelta(microseconds=1))}"


def part_label(row: dict[str, Any]) -> str:
    """A part as people call it; its number where it has no name, or shares its name with another part."""
    name, number = row.get("part_name"), row.get("part_no")
    if name and number and row.get("shares_name"):
        return f"{name} {number}"
    return name or number or "part not recorded"


def tell_parts_apart(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mark the rows whose part has its name in common with a part of another number."""
    numbers: dict[str, set[str]] = {}
    for row in rows:
        numbers.setdefault(row.get("part_name") or "", set()).add(row.get("part_no") or "")
    return [{**row, "shares_name": len(numbers[row.get("part_name") or ""]) > 1} for row in rows]


def fix_label(row: dict[str, Any]) -> str:
    """A part and what was done to it."""
    action = row.get("action") or "worked on"
    return f"{part_label(row)}, {DONE.get(action, action)}"


def listed(things: Sequence[str], most: int = 3) -> str:
    """A, B and C; where there are more: A, B, C and 4 more."""
    if len(things) > most:
        return f"{', '.join(things[:most])} and {len(things) - most} more"
    return " and ".join(filter(None, [", ".join(things[:-1]), *things[-1:]]))


_SPELLED = [
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]


def spelled(number: int, one: str = "", many: str = "") -> str:
    """A count in words up to twelve, in digits above, with what is counted where that is given: two reports."""
    count = _SPELLED[number] if number < len(_SPELLED) else whole(number)
    return f"{count} {one if number == 1 else many}".rstrip()


def counted(number: float, one: str, many: str) -> str:
    """1 job, 2 jobs."""
    return f"{whole(number)} {one if number == 1 else many}"
