"""One figure by month: its likely range as an upright line, the months that cannot be known yet hatched."""

from __future__ import annotations

from datetime import date

import altair as alt
import polars as pl

from dashboards import look

HEIGHT = 230
BELOW, ABOVE = 40, 46  # pixels for the axis, and for two lines of words above the drawing
HATCHES = 14  # strokes across the drawing's height
NARROW = "width < 560"


def by_month(rows: pl.DataFrame, title: str, reference: float | None, reference_words: str) -> alt.LayerChart:
    """
    Draw rows of `month, said, low, value, high, sample, is_known, stands_out`.

    Parameters
    ----------
    rows : polars.DataFrame
        In order of `month`, the first day of each (a date). A month that is not known yet gets no point, only hatching.
    title : str
        What the axis measures, with its unit: a share.
    reference : float or None
        All months together, a dotted line.
    reference_words : str
        What that line is.

    Returns
    -------
    altair.LayerChart
    """
    drawn = rows.with_columns(
        pl.col("month").dt.offset_by("1mo").alias("month_end"),
        (pl.col("month") + pl.duration(days=14)).alias("middle"),
    )
    known = drawn.filter("is_known")
    top = _top(known, reference)
    x_scale = alt.Scale(domain=[_moment(drawn["month"].min()), _moment(drawn["month_end"].max())])
    y_scale = alt.Scale(domain=[0, top], nice=False)
    layers = [
        *_not_yet(drawn.filter(~pl.col("is_known")), top, y_scale),
        *_months(known, title, x_scale, y_scale),
        look.upright(title, at=-27),
    ]
    if reference is not None:
        layers.append(_reference(reference, reference_words, y_scale))
    return look.finish(
        alt.layer(*layers).properties(
            width="container",
            height=HEIGHT + BELOW + ABOVE,
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding={"left": 2, "top": ABOVE, "right": 8, "bottom": 2},
        )
    )


def _top(known: pl.DataFrame, reference: float | None) -> float:
    highs = known["high"].drop_nulls().to_list()
    return min(1.0, max([*highs, reference or 0.0, 0.02]) * 1.05)


def _moment(day: object) -> alt.DateTime:
    if not isinstance(day, date):
        raise TypeError(f"a month is the first day of it, but was {day!r}")
    return alt.DateTime(year=day.year, month=day.month, date=day.day)


def _months(known: pl.DataFrame, title: str, x_scale: alt.Scale, y_scale: alt.Scale) -> list[alt.Chart]:
    tooltip = [
        alt.Tooltip("month:T", title="month", format="%b %Y"),
        alt.Tooltip("said:N", title="counts"),
        alt.Tooltip("value:Q", title=title, format=".0%"),
        alt.Tooltip("low:Q", title="likely from", format=".0%"),
        alt.Tooltip("high:Q", title="likely to", format=".0%"),
    ]
    years = alt.Axis(format="%Y", tickCount="year", grid=False)
    base = alt.Chart(known).encode(x=alt.X("middle:T", title=None, axis=years))
    tone = alt.when("datum.stands_out").then(alt.value(look.CLAY)).otherwise(alt.value(look.TEAL))
    y_axis = alt.Axis(format=".0%", tickCount=4, orient="left")
    ranges = base.mark_rule(strokeWidth=2.5, strokeCap="round", opacity=0.55).encode(
        y=alt.Y("low:Q", scale=y_scale, title=None, axis=y_axis),
        y2="high:Q",
        color=tone,
        strokeDash=alt.when("datum.sample === 'too few'")
        .then(alt.value([4, 4]))
        .otherwise(alt.value([1, 0])),
        tooltip=tooltip,
    )
    # The limits of the axis stand in one layer only: written twice, Vega would complain that they differ.
    line = base.mark_line(strokeWidth=1, color=look.TEAL, opacity=0.5).encode(
        x=alt.X("middle:T", scale=x_scale, title=None, axis=years), y=alt.Y("value:Q", scale=y_scale)
    )
    points = (
        base.transform_filter("isValid(datum.value)")
        .mark_point(filled=True, opacity=1)
        .encode(
            y=alt.Y("value:Q", scale=y_scale),
            color=tone,
            size=alt.value(alt.expr(f"{NARROW} ? 30 : 55")),
            shape=alt.when("datum.stands_out").then(alt.value("square")).otherwise(alt.value("circle")),
            tooltip=tooltip,
        )
    )
    return [line, ranges, points]


def _not_yet(unknown: pl.DataFrame, top: float, y_scale: alt.Scale) -> list[alt.Chart]:
    """A ground, slanting strokes and words over the months that cannot be known yet."""
    if not unknown.height:
        return []
    span = unknown.select(start=pl.col("month").min(), end=pl.col("month_end").max())
    step = top / HATCHES
    strokes = pl.concat(
        [span.with_columns(low=pl.lit(at * step), high=pl.lit((at + 1) * step)) for at in range(HATCHES)]
    )
    ground = alt.Chart(span).mark_rect(color=look.SHADE).encode(x="start:T", x2="end:T")
    hatching = (
        alt.Chart(strokes)
        .mark_rule(color=look.UNDECIDED, strokeWidth=1, opacity=0.6, clip=True)
        .encode(x="start:T", x2="end:T", y=alt.Y("low:Q", scale=y_scale), y2="high:Q")
    )
    words = (
        alt.Chart(span)
        .mark_text(align="right", baseline="bottom", color=look.UNDECIDED)
        .encode(x="end:T", y=alt.value(-8), text=alt.value("not yet known"))
    )
    return [ground, hatching, words]


def _reference(at: float, words: str, y_scale: alt.Scale) -> alt.LayerChart:
    frame = alt.Chart(pl.DataFrame({"at": [at], "words": [words]}))
    line = frame.mark_rule(strokeDash=[2, 3], strokeWidth=1.5, color=look.SOFT).encode(
        y=alt.Y("at:Q", scale=y_scale)
    )
    text = frame.mark_text(align="left", baseline="bottom", color=look.SOFT).encode(
        x=alt.value(0), y=alt.value(-8), text="words:N"
    )
    return alt.layer(line, text)
