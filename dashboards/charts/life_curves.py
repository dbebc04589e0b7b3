"""How long a part lasts: share worked on again by each day since the fix, with how many are still followed below."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards.charts.curve import Axes, curve

TICKS = (0, 90, 180, 270, 365)
AXES = Axes("days since the fix", "share worked on again", ".0%", TICKS, "still followed", most=1)


def life_curves(rows: pl.DataFrame) -> alt.LayerChart:
    """
    Draw rows of `label, x, value, low, high, at_risk`, x in days since the fix, value a share.

    Parameters
    ----------
    rows : polars.DataFrame
        See `curve.curve`.
    """
    return curve(rows, AXES)
