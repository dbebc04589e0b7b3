"""Figures in words. Below 50 counts come before percentages; every number has its unit; nothing is "always" or "never"."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from pipeline.plain_words import (
    DONE,
    PERCENT,
    capital,
    counted,
    day,
    figure,
    fix_label,
    listed,
    month,
    part_label,
    percent,
    spelled,
    tell_parts_apart,
    whole,
)

__all__ = [
    "DONE",
    "PERCENT",
    "capital",
    "counted",
    "day",
    "figure",
    "fix_label",
    "listed",
    "month",
    "part_label",
    "percent",
    "spelled",
    "tell_parts_apart",
    "whole",
]

COUNTS_FIRST_BELOW = 50
NARROW = 0.05


@dataclass(frozen=True)
class Told:
    """An answer: what can be said, and what cannot be told yet."""

    sure: str
    undecided: str = ""


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


def window(row: dict[str, Any]) -> str:
    """The window of a figure; its end is the last day that counts."""
    return f"{day(row['from'])} to {day(row['complete_to'] - timedelta(microseconds=1))}"
