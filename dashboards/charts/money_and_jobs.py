"""Money in one van against jobs finished at the first visit: one curve, today's vans and the chosen money as marks."""

from __future__ import annotations

import altair as alt
import polars as pl

from dashboards import look

HEIGHT = 324  # with the words above
UPWARD = "jobs with a part ended at the first visit"


def money_and_jobs(
    curve: pl.DataFrame, chosen: tuple[float, float], now: tuple[float, float] | None, unit: str
) -> alt.LayerChart:
    """
    Draw rows of `cost, share`.

    Parameters
    ----------
    curve : polars.DataFrame
        In order of `cost`, major units of money in one van; `share` of jobs, 0 … 1.
    chosen : (cost, share)
        The list that is shown.
    now : (cost, share) or None
        What a van carries today, on average.
    unit : str
        Currency, or empty.

    Returns
    -------
    altair.LayerChart
    """
    x_title = f"money in one van{f', {unit}' if unit else ''}"
    x = alt.X(
        "cost:Q",
        title=x_title,
        axis=alt.Axis(tickCount=5, format=",.0f", grid=False),
        scale=alt.Scale(domainMin=0),
    )
    y = alt.Y(
        "share:Q",
        title=None,
        axis=alt.Axis(format=".0%", tickCount=5),
        scale=alt.Scale(domain=[0, 1], nice=False),
    )
    line = (
        alt.Chart(curve)
        .mark_line(interpolate="step-after", color=look.TEAL, strokeWidth=2.5)
        .encode(x=x, y=y)
    )
    layers = [line, look.upright(UPWARD, -8), *_mark(chosen, "this list", look.TEAL, "circle", above=True)]
    if now is not None:
        layers += _mark(now, "on the vans now", look.CLAY, "diamond", above=False)
    return look.finish(
        alt.layer(*layers).properties(
            width="container",
            height=HEIGHT,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding={"left": 2, "top": 4, "right": 12, "bottom": 2},
        )
    )


def _mark(at: tuple[float, float], words: str, colour: str, shape: str, *, above: bool) -> list[alt.Chart]:
    frame = pl.DataFrame({"cost": [at[0]], "share": [at[1]], "words": [f"{words}: {at[1]:.0%}"]})
    base = alt.Chart(frame).encode(x=alt.X("cost:Q"), y=alt.Y("share:Q"))
    point = base.mark_point(filled=True, opacity=1, size=110, color=colour, shape=shape).encode(
        tooltip=[
            alt.Tooltip("words:N", title="jobs finished at the first visit"),
            alt.Tooltip("cost:Q", title="money in one van", format=",.0f"),
        ]
    )
    text = base.mark_text(
        align="right" if above else "left",
        baseline="bottom" if above else "top",
        dx=-9 if above else 9,
        dy=-9 if above else 9,
        color=colour,
        fontWeight=600,
    ).encode(text="words:N")
    return [point, text]
