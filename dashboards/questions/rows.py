"""Rows on a page: the first dozen in sight, the rest folded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl
import streamlit as st

from dashboards import blocks, listed
from dashboards.charts.interval_rows import Scale, interval_rows
from dashboards.words import Told

IN_SIGHT = 12


@dataclass(frozen=True)
class Drawn:
    """One row of a chart: its name, its counts in words, the measure's row; the value at which a verdict turns, and its range."""

    label: str
    said: str
    row: dict[str, Any]
    kept: bool = False
    turns: float | None = None
    turns_range: tuple[float, float] | None = None


@dataclass(frozen=True)
class Reference:
    """The value that decides, and its words."""

    value: float
    words: str


def show_rows(rows: list[Drawn], scale: Scale, told: Told, reference: Reference | None = None) -> None:
    """Chart of the first rows in the order given; the rest in a second chart, folded, as far as anybody would read."""
    _chart(rows[:IN_SIGHT], scale, told, reference)
    rest = rows[IN_SIGHT:]
    if rest:
        drawn, more = rest[: listed.DRAWN], len(rest) - listed.DRAWN
        with st.expander(
            f"The other {len(rest)}" if more <= 0 else f"The next {len(drawn)}, of {len(rest):,} more"
        ):
            _chart(drawn, scale, Told("The rows that follow."), reference)


def chart_frame(rows: list[Drawn]) -> pl.DataFrame:
    """The frame that the chart takes."""
    schema: dict[str, Any] = {
        "label": pl.String,
        "said": pl.String,
        "low": pl.Float64,
        "value": pl.Float64,
        "high": pl.Float64,
        "sample": pl.String,
        "kept": pl.Boolean,
    }
    if any(drawn.turns is not None or drawn.turns_range is not None for drawn in rows):
        schema |= dict.fromkeys(("turns", "turns_low", "turns_high"), pl.Float64)
    cells = [
        {
            "turns": drawn.turns,
            "turns_low": drawn.turns_range[0] if drawn.turns_range else None,
            "turns_high": drawn.turns_range[1] if drawn.turns_range else None,
            "label": drawn.label,
            "said": drawn.said,
            "kept": drawn.kept,
            **{name: drawn.row[name] for name in ("low", "value", "high", "sample")},
        }
        for drawn in rows
    ]
    return pl.DataFrame([{name: cell[name] for name in schema} for cell in cells], schema=schema)


def _chart(rows: list[Drawn], scale: Scale, told: Told, reference: Reference | None) -> None:
    lines = "; ".join(f"{drawn.label}: {drawn.said}" for drawn in rows)
    says = f"{told.sure} Shown: {scale.title}. {lines}."
    value, text = (reference.value, reference.words) if reference else (None, "")
    blocks.chart(says, interval_rows, chart_frame(rows), scale, value, text)
