"""How counts, days, parts and lists are written wherever people read them; the same in every locale."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

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


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]


def day(moment: date | datetime) -> str:
    """3 Mar 2025, the same in every locale."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{moment.day} {months[moment.month - 1]} {moment.year}"


def month(moment: date | datetime) -> str:
    """Mar 2025, the same in every locale."""
    return day(moment).split(" ", 1)[1]


def part_label(row: dict[str, Any]) -> str:
    """A part as people call it; its number where it has no name, or shares its name with another part."""
    name, number = row.get("part_name"), row.get("part_no")
    if name and number and row.get("shares_name"):
        return f"{name} {number}"
    return name or number or "part not recorded"


def fix_label(row: dict[str, Any]) -> str:
    """A part and what was done to it."""
    action = row.get("action") or "worked on"
    return f"{part_label(row)}, {DONE.get(action, action)}"


def tell_parts_apart(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Mark the rows whose part has its name in common with a part of another number."""
    numbers: dict[str, set[str]] = {}
    for row in rows:
        numbers.setdefault(row.get("part_name") or "", set()).add(row.get("part_no") or "")
    return [{**row, "shares_name": len(numbers[row.get("part_name") or ""]) > 1} for row in rows]


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
