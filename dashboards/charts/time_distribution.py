"""How long jobs take: share done within so many minutes, days or visits, with how many are not done yet below."""

from __future__ import annotations

from math import ceil

import altair as alt
import polars as pl

from dashboards.charts.curve import Axes, curve

MOST_TICKS = 5
STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120)


def time_distribution(rows: pl.DataFrame, unit: str) -> alt.LayerChart:
    """
    Draw rows of `label, x, value, low, high, at_risk`, value a share of jobs.

    Parameters
    ----------
    rows : polars.DataFrame
        See `curve.curve`.
    unit : str
        What `x` is in, in words.
    """
    longest = float(rows["x"].max())
    wanted = longest / MOST_TICKS
    step = next((each for each in STEPS if each >= wanted), ceil(wanted))
    ticks = list(range(0, int(longest) + 1, step))
    return curve(rows, Axes(unit, "share done by then", ".0%", ticks, "not done by then", most=1))
