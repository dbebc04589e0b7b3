"""Months of a figure: their first day, and whether all of one can be known yet."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any


def is_known(row: dict[str, Any]) -> bool:
    """Whether every fix of the month could be followed for all the days."""
    return bool(row["denominator"]) and row["mature_denominator"] >= row["denominator"]


def first_of(month: str) -> date:
    """First day of a month written 2026-03."""
    return datetime.strptime(month + "-01", "%Y-%m-%d").date()  # noqa: DTZ007 - a local day
