"""Repairs a machine has had by an age, on average; and the difference of two groups."""

from __future__ import annotations

from math import ceil

import altair as alt
import polars as pl

from dashboards.charts.curve import Axes, curve

MOST_TICKS = 6


def mean_cumulative(rows: pl.DataFrame) -> alt.LayerChart:
    """
    Draw rows of `label, x, value, low, high, at_risk`, x in years of age, value repairs a machine.

    Parameters
    ----------
    rows : polars.DataFrame
        See `curve.curve`.
    """
    return curve(rows, _axes(rows, "repairs a machine has had, mean"))


def mean_cumulative_difference(rows: pl.DataFrame) -> alt.LayerChart:
    """
    Draw the difference of two groups, one label; a likely range that leaves out the line at nought tells them apart.

    Parameters
    ----------
    rows : polars.DataFrame
        See `curve.curve`; `at_risk` is that of the smaller group.
    """
    return curve(rows, _axes(rows, "repairs a machine, first less second"), zero=True)


def _axes(rows: pl.DataFrame, title: str) -> Axes:
    oldest = float(rows["x"].max())
    step = max(1, ceil(oldest / MOST_TICKS))
    ticks = [*range(0, int(oldest) + 1, step)] or [0]
    return Axes("age of the machine, years", title, ".1~f", ticks, "machines of that age")
