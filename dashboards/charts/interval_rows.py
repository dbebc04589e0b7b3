"""One row per group: its name and counts above, the likely range and the figure below.

The row uses the whole width, so that it can be read on a phone. The sample shows in the mark as well as in the
words: a filled point is enough, a hollow one rough, a dashed range without a point too few to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import altair as alt
import polars as pl

from dashboards import look

STEP = 68  # pixels a row: two lines of text and the range on a narrow screen
BELOW, ABOVE = 56, 20  # pixels for the axis with its words, and for the words of the reference
OFFSET = 19  # pixels from the middle of a row down to its range
BESIDE = 11  # pixels that a line beside a range reaches above it: no further, there stand the words
LETTER, GAP = 6.8, 16  # pixels: a letter of the counts, rather wide; from a name to the counts beside it
NARROW = "width < 560"
COLUMNS = ("label", "said", "low", "value", "high", "sample")


@dataclass(frozen=True)
class Scale:
    """
    What the figures are measured in.

    Parameters
    ----------
    title : str
        Words below the axis, with the unit.
    number_format : str
        Vega number format of the axis and of the tooltip.
    factor : float
        What figures are multiplied with before they are drawn (100 machines: 100).
    most : float or None
        The largest value there can be (a share: 1).
    """

    title: str
    number_format: str = ".0f"
    factor: float = 1.0
    most: float | None = None


def interval_rows(
    rows: pl.DataFrame, scale: Scale, reference: float | None = None, reference_words: str = ""
) -> alt.LayerChart:
    """
    Draw rows of `label, said, low, value, high, sample` and, where they are there, `kept` (a second kind of thing) and `turns`
    (the value that decides the row, a stroke across it) with `turns_low` and `turns_high` (its own range, dotted below the row).

    Parameters
    ----------
    rows : polars.DataFrame
        In the order in which they are to stand. `value` is null where the sample is too few.
    scale : Scale
        Unit, format and limits.
    reference : float or None
        The value that decides, drawn as a dotted line with its words.
    reference_words : str
        What that value is.

    Returns
    -------
    altair.LayerChart
        Text, ranges and points share one axis that starts at nought.
    """
    top = _top(rows, scale, reference)
    drawn = _drawn(rows, scale, top)
    x_scale = alt.Scale(domain=[0, top], nice=False)
    base = alt.Chart(drawn).encode(y=alt.Y("row:O", axis=None, sort="ascending"))
    layers = [
        *_texts(base, _beside(rows)),
        _ranges(base, scale, alt.X("low_drawn:Q", scale=x_scale, axis=_axis(scale, top), title=scale.title)),
        _cut_ends(base),
        _points(base),
    ]
    if "turns" in rows.columns:
        layers += [_turns_range(base), _turns(base)]
    if reference is not None:
        layers = [*_reference(base, reference * scale.factor, reference_words, top), *layers]
    return look.finish(
        alt.layer(*layers).properties(
            width="container",
            height=STEP * rows.height + BELOW + (ABOVE if reference is not None else 0),
            autosize=alt.AutoSizeParams(type="fit", contains="padding"),
            padding={"left": 2, "top": 6, "right": 10, "bottom": 2},
        )
    )


def _top(rows: pl.DataFrame, scale: Scale, reference: float | None) -> float:
    """End of the axis: a range that says too little must not squeeze the ones that say something."""
    telling = rows.filter(pl.col("sample") != "too few")
    highs = (telling if telling.height else rows)["high"].drop_nulls()
    # The low end of every range stands within the drawing: it is what can be said most surely.
    lows = [low * 1.1 for low in rows["low"].drop_nulls()]
    turns = [
        at
        for name in ("turns", "turns_high")
        if name in rows.columns
        for at in rows[name].drop_nulls().to_list()
    ]
    top = max([*highs.to_list(), *lows, *turns, reference or 0.0, 0.0]) * 1.06 or 1.0
    return min(top, scale.most or top) * scale.factor


def _drawn(rows: pl.DataFrame, scale: Scale, top: float) -> pl.DataFrame:
    kept = pl.col("kept") if "kept" in rows.columns else pl.lit(value=False)
    numbers = [name for name in ("low", "value", "high", "turns") if name in rows.columns]
    scaled = [(pl.col(name) * scale.factor).alias(name) for name in numbers]
    ends = [
        (pl.col(name) * scale.factor).clip(0.0, top).alias(name)
        for name in ("turns_low", "turns_high")
        if name in rows.columns
    ]
    drawn = rows.with_row_index("row").with_columns(*scaled, *ends, kept.alias("kept"))
    open_ended = (pl.col("high").is_null() | (pl.col("high") > top)).alias("is_cut")
    return drawn.with_columns(
        open_ended,
        pl.min_horizontal(pl.col("high").fill_null(top), pl.lit(top)).alias("high_drawn"),
        pl.min_horizontal("low", pl.lit(top)).alias("low_drawn"),
    )


# Channels are named by their classes: a bare `alt.value` or `alt.when` is looked for among all classes of the schema, which
# was four fifths of the time that a chart takes.
TOO_FEW, ROUGH, KEPT = "datum.sample === 'too few'", "datum.sample === 'rough'", "datum.kept"


def _by_case(cases: dict[str, Any]) -> list[dict[str, Any]]:
    """What a channel takes where a test holds; the first that holds wins."""
    return [{"test": test, "value": value} for test, value in cases.items()]


def _colour(channel: type[alt.ColorValue | alt.StrokeValue] = alt.ColorValue) -> Any:
    return channel(look.TEAL, condition=_by_case({TOO_FEW: look.UNDECIDED, KEPT: look.CLAY}))


def _tooltip(scale: Scale) -> list[alt.Tooltip]:
    return [
        alt.Tooltip("label:N", title="what"),
        alt.Tooltip("said:N", title="counts"),
        alt.Tooltip("value:Q", title=scale.title, format=scale.number_format),
        alt.Tooltip("low:Q", title="likely from", format=scale.number_format),
        alt.Tooltip("high:Q", title="likely to", format=scale.number_format),
    ]


def _axis(scale: Scale, top: float) -> alt.Axis:
    """Ticks with one decimal more where whole ones would stand twice."""
    narrow = {".0%": (0.04, ".1~%"), ".0f": (4.0, ".1~f")}
    most, finer = narrow.get(scale.number_format, (0.0, ""))
    return alt.Axis(format=finer if top < most else scale.number_format, tickCount=5, grid=True)


def _ranges(base: alt.Chart, scale: Scale, x: alt.X) -> alt.Chart:
    return base.mark_rule(strokeWidth=3, yOffset=OFFSET, strokeCap="round").encode(
        x=x,
        x2=alt.X2("high_drawn:Q"),
        color=_colour(),
        strokeDash=alt.StrokeDashValue([1, 0], condition=_by_case({TOO_FEW: [5, 5]})),
        tooltip=_tooltip(scale),
    )


def _cut_ends(base: alt.Chart) -> alt.Chart:
    """A small arrow where the likely range goes on past the end of the axis."""
    arrow = base.transform_filter("datum.is_cut").mark_point(
        shape="triangle-right", size=70, filled=True, yOffset=OFFSET
    )
    return arrow.encode(x="high_drawn:Q", color=_colour())


def _turns(base: alt.Chart) -> alt.Chart:
    """A dotted stroke across the row where the verdict turns."""
    stroke = base.transform_filter("isValid(datum.turns)").mark_rule(
        strokeWidth=2.5, strokeDash=[2, 2], color=look.INK, yOffset=OFFSET - BESIDE, y2Offset=OFFSET + 13
    )
    return stroke.encode(x="turns:Q", y2=alt.Y2("row:O"))


def _turns_range(base: alt.Chart) -> alt.Chart:
    """Where the verdict may as well turn: dotted, below the range that it is held against."""
    dotted = base.transform_filter("isValid(datum.turns_low)").mark_rule(
        strokeWidth=2, strokeDash=[2, 3], color=look.INK, yOffset=OFFSET + 11
    )
    return dotted.encode(x="turns_low:Q", x2=alt.X2("turns_high:Q"))


def _points(base: alt.Chart) -> alt.Chart:
    points = base.transform_filter("isValid(datum.value) && datum.sample !== 'too few'")
    return points.mark_point(size=150, strokeWidth=2.5, opacity=1, yOffset=OFFSET).encode(
        x="value:Q",
        stroke=_colour(alt.StrokeValue),
        fill=alt.FillValue(look.TEAL, condition=_by_case({ROUGH: look.PAPER, KEPT: look.CLAY})),
        shape=alt.ShapeValue("circle", condition=_by_case({KEPT: "square"})),
    )


def _beside(rows: pl.DataFrame) -> float:
    """Pixels that the longest counts take at the right of a line, with a gap: names end before them."""
    return LETTER * (rows["said"].str.len_chars().max() or 0) + GAP  # type: ignore[operator]


def _texts(base: alt.Chart, beside: float) -> list[alt.Chart]:
    """Name left and counts right of one line; on a narrow screen the counts stand on a line of their own."""
    label = {
        "align": "left",
        "fontSize": 15,
        "dy": alt.expr(f"{NARROW} ? -19 : -6"),
        "limit": alt.expr(f"{NARROW} ? width : width - {beside:.0f}"),
    }
    said = {
        "align": alt.expr(f"{NARROW} ? 'left' : 'right'"),
        "x": alt.expr(f"{NARROW} ? 0 : width"),
        "fontSize": 14,
        "dy": alt.expr(f"{NARROW} ? -1 : -6"),
    }
    # The same text in the colour of the paper below it keeps lines that cross from running through the letters.
    halo = {"stroke": look.PAPER, "strokeWidth": 5, "strokeJoin": "round"}
    return [
        base.mark_text(baseline="middle", **label, **halo).encode(x=alt.XValue(0), text="label:N"),
        base.mark_text(baseline="middle", **said, **halo).encode(text="said:N"),
        base.mark_text(baseline="middle", **label).encode(x=alt.XValue(0), text="label:N"),
        base.mark_text(baseline="middle", color=look.SOFT, **said).encode(text="said:N"),
    ]


def _reference(base: alt.Chart, at: float, words: str, top: float) -> list[alt.Chart]:
    """Dotted beside each range and never through the words of a row; from row to row the eye goes on by itself."""
    line = alt.Chart(pl.DataFrame({"at": [at], "words": [words]}))
    # Words that stand out of the drawing would make it narrower.
    side = "left" if at < top / 3 else "right" if at > top * 2 / 3 else "center"
    dotted = {"strokeDash": [2, 3], "strokeWidth": 1.5, "color": look.SOFT}
    beside = base.mark_rule(**dotted, yOffset=OFFSET - BESIDE, y2Offset=STEP / 2).encode(
        x=alt.XDatum(at), y2=alt.Y2("row:O")
    )
    under_the_words = line.mark_rule(**dotted).encode(x="at:Q", y=alt.YValue(-4), y2=alt.Y2Value(2))
    return [
        beside,
        under_the_words,
        line.mark_text(align=side, baseline="bottom", color=look.SOFT).encode(
            x="at:Q", y=alt.YValue(-6), text="words:N"
        ),
    ]
