"""A line with its pale likely range and, under the axis, how many are still followed; several told apart by dash and name.

The line of a group stops where its rows stop: where fewer than five are left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import altair as alt
import polars as pl

from dashboards import look

COLUMNS = ("label", "x", "value", "low", "high", "at_risk")
HEIGHT = 260
FIRST_ROW, ROW = 66, 40  # pixels from the axis down to the first group's name, and from one group to the next
ABOVE = 30  # pixels for the words of the upright axis
MOST = 4  # lines that can still be told apart
COLOURS = (look.TEAL, look.CLAY, look.INK, look.UNDECIDED)
DASHES = ([1, 0], [7, 4], [2, 3], [10, 3, 2, 3])
NARROW = "width < 560"


@dataclass(frozen=True)
class Axes:
    """
    What is measured along and up.

    Parameters
    ----------
    x_title, y_title : str
        Words with the unit.
    y_format : str
        Vega number format.
    x_values : sequence of float
        Places of the ticks; under each stands how many are still followed.
    followed : str
        What is counted there.
    most : float or None
        The largest value there can be (a share: 1).
    """

    x_title: str
    y_title: str
    y_format: str
    x_values: Sequence[float]
    followed: str
    most: float | None = None


def curve(rows: pl.DataFrame, axes: Axes, *, zero: bool = False) -> alt.LayerChart:
    """
    Draw rows of `label, x, value, low, high, at_risk`.

    Parameters
    ----------
    rows : polars.DataFrame
        At most four labels, in the order in which they are to be named; `x` ascending within each.
    axes : Axes
    zero : bool
        Whether values may lie below nought, and a line at nought is to be drawn (a difference).

    Returns
    -------
    altair.LayerChart
        Band, line and counts share one axis.

    Raises
    ------
    ValueError
        If there are no rows, or more than four labels.
    """
    labels = rows["label"].unique(maintain_order=True).to_list()
    if not 1 <= len(labels) <= MOST:
        raise ValueError(f"one to {MOST} lines can be told apart, but there were {len(labels)}")
    x_scale = alt.Scale(domain=[min(0.0, rows["x"].min()), max(rows["x"].max(), *axes.x_values)], nice=False)
    base = alt.Chart(rows.with_columns(said=_said(axes)))
    layers = [
        _band(base, labels),
        *_lines(base, labels, axes, x_scale, _domain(rows, axes, zero=zero)),
        look.upright(axes.y_title, at=-10),
        *_names(labels, axes),
        *_counts(rows, labels, axes),
    ]
    if zero:
        layers.insert(
            0,
            alt.Chart(pl.DataFrame({"at": [0.0]}))
            .mark_rule(color=look.SOFT, strokeDash=[2, 3])
            .encode(y="at:Q"),
        )
    return look.finish(
        alt.layer(*layers).properties(
            width="container",
            height=HEIGHT,
            # The height is that of the drawing alone: names and counts stand below it.
            autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
            padding={"left": 2, "top": ABOVE, "right": 12, "bottom": 4},
        )
    )


def _said(axes: Axes) -> pl.Expr:
    return pl.format("{} " + axes.followed, "at_risk")


def _domain(rows: pl.DataFrame, axes: Axes, *, zero: bool) -> list[float]:
    highs = [*rows["high"].drop_nulls().to_list(), *rows["value"].drop_nulls().to_list()]
    top = max([*highs, 0.0]) * 1.05 or 1.0
    bottom = min([0.0, *rows["low"].drop_nulls().to_list()]) * 1.05 if zero else 0.0
    return [bottom, min(top, axes.most or top)]


def _telling(
    labels: list[str], channel: type[alt.Color | alt.StrokeDash], values: Sequence[object]
) -> alt.Color:
    scale = alt.Scale(domain=labels, range=list(values[: len(labels)]))
    return channel("label:N", scale=scale, legend=None)


def _band(base: alt.Chart, labels: list[str]) -> alt.Chart:
    drawn = base.transform_filter("isValid(datum.high) && isValid(datum.low)")
    return drawn.mark_area(
        interpolate="step-after", opacity=0.14 if len(labels) < 3 else 0.1, clip=True
    ).encode(x="x:Q", y="low:Q", y2="high:Q", color=_telling(labels, alt.Color, COLOURS))


def _lines(
    base: alt.Chart, labels: list[str], axes: Axes, x_scale: alt.Scale, domain: list[float]
) -> list[alt.Chart]:
    x_axis = alt.Axis(values=list(axes.x_values), grid=False, format=",.0f", titleAnchor="start")
    y_axis = alt.Axis(format=axes.y_format, tickCount=5, title=None)
    tooltip = [
        alt.Tooltip("label:N", title="what"),
        alt.Tooltip("x:Q", title=axes.x_title, format=".1~f"),
        alt.Tooltip("value:Q", title=axes.y_title, format=_finer(axes.y_format)),
        alt.Tooltip("low:Q", title="likely from", format=_finer(axes.y_format)),
        alt.Tooltip("high:Q", title="likely to", format=_finer(axes.y_format)),
        alt.Tooltip("said:N", title="left"),
    ]
    line = base.mark_line(interpolate="step-after", strokeWidth=2.5, clip=True).encode(
        x=alt.X("x:Q", scale=x_scale, axis=x_axis, title=axes.x_title),
        y=alt.Y("value:Q", scale=alt.Scale(domain=domain, nice=False), axis=y_axis),
        color=_telling(labels, alt.Color, COLOURS),
        strokeDash=_telling(labels, alt.StrokeDash, DASHES),
    )
    # A point too small to see, but not too small to be pointed at.
    touch = base.mark_point(size=120, opacity=0, filled=True).encode(x="x:Q", y="value:Q", tooltip=tooltip)
    return [line, touch]


def _finer(number_format: str) -> str:
    return ".1%" if "%" in number_format else ".2~f"


def _row(labels: list[str], label: str) -> int:
    return HEIGHT + FIRST_ROW + ROW * labels.index(label)


def _names(labels: list[str], axes: Axes) -> list[alt.Chart]:
    """Under the axis: a piece of each line, its name, and what the numbers below it count."""
    layers: list[alt.Chart] = []
    for label in labels:
        at = _row(labels, label)
        named = alt.Chart(pl.DataFrame({"name": [f"{label}: {axes.followed}" if label else axes.followed]}))
        telling = len(labels) > 1
        if telling:
            place = labels.index(label)
            layers.append(
                named.mark_rule(strokeWidth=2.5, color=COLOURS[place], strokeDash=DASHES[place]).encode(
                    x=alt.value(0), x2=alt.value(30), y=alt.value(at)
                )
            )
        layers.append(
            named.mark_text(
                align="left",
                baseline="middle",
                color=look.SOFT,
                limit=alt.expr(f"width - {38 if telling else 0}"),
            ).encode(x=alt.value(38 if telling else 0), y=alt.value(at), text="name:N")
        )
    return layers


def _counts(rows: pl.DataFrame, labels: list[str], axes: Axes) -> list[alt.Chart]:
    """How many are left at each tick, as far as the line goes."""
    cells = []
    # A number in the middle of a tick at the very end would stand out of the drawing and make it narrower.
    end = 0.97 * max(rows["x"].max(), *axes.x_values)
    for label in labels:
        mine = rows.filter(pl.col("label") == label)
        for place, tick in enumerate(axes.x_values):
            left = mine.filter(pl.col("x") >= tick - 1e-9)
            if mine["x"].min() > tick or not left.height:
                continue
            side = "left" if place == 0 else "right" if tick >= end else "center"
            cells.append(
                {
                    "x": float(tick),
                    "left": f"{left['at_risk'][0]:,}",
                    "side": side,
                    "y": _row(labels, label) + 18,
                }
            )
    if not cells:
        return []
    layers = []
    for (side, y), part in pl.DataFrame(cells).group_by(["side", "y"], maintain_order=True):
        text = alt.Chart(part).mark_text(align=side, baseline="middle", color=look.INK)
        layers.append(text.encode(x="x:Q", y=alt.value(y), text="left:N"))
    return layers
