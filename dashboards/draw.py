"""Draw a figure into a file: `python -m dashboards.draw FILE`, the answer as JSON on standard input."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import altair as alt
import polars as pl

from dashboards import chart_files, look, words
from dashboards.charts.by_month import by_month
from dashboards.charts.curve import MOST
from dashboards.charts.interval_rows import Scale, interval_rows
from dashboards.charts.life_curves import life_curves
from dashboards.charts.mean_cumulative import mean_cumulative, mean_cumulative_difference
from dashboards.charts.time_distribution import time_distribution
from dashboards.months import first_of, is_known

MOST_ROWS = 25
LETTERS_A_LINE = 88
TITLE_LINE, TITLE_OFFSET = 20, 14  # pixels a line of the title, and from it to the drawing


NOTHING = "There is nothing to draw yet: no row of the answer has a range."


class NothingToDrawError(ValueError):
    """An answer without a single range."""


def draw(answer: dict[str, Any]) -> alt.TopLevelMixin:
    """
    The chart that belongs to a figure, with what it says above it: its line where it has one that goes anywhere, else its rows.

    Parameters
    ----------
    answer : dict
        `name, label, says, groups, rows` of a measure and, where it has one, `line` with `groups, x_unit, rows`.

    Raises
    ------
    NothingToDrawError
        If neither a line nor a row has anything to show.
    """
    rows = [
        {**row, **{name: _moment(row.get(name)) for name in ("from", "complete_to")}}
        for row in answer["rows"]
    ]
    chart, drawn, of = (_curves if (answer.get("line") or {}).get("rows") else _rows)(answer, rows)
    bases = "; ".join(dict.fromkeys(row["basis"] for row in rows))
    below = [words.capital(f"{bases}. {words.window(rows[0])}. Likely range: 95 %.")]
    if drawn < of:
        below.append(f"Drawn: the {drawn} with most behind them, of {of}.")
    says = textwrap.wrap(answer["says"], LETTERS_A_LINE)
    title = alt.TitleParams(
        says,
        subtitle=below,
        anchor="start",
        color=look.INK,
        subtitleColor=look.SOFT,
        font=look.SERIF,
        fontSize=17,
        subtitleFont=look.SANS,
        subtitleFontSize=13,
        fontWeight="normal",
        offset=TITLE_OFFSET,
    )
    if isinstance(chart.autosize, alt.AutoSizeParams) and chart.autosize.type == "fit":
        # The height is that of everything: without more of it the title would take it from the rows.
        chart = chart.properties(height=chart.height + TITLE_LINE * (len(says) + len(below)) + TITLE_OFFSET)
    return chart.properties(title=title, description=f"{answer['label']}: {answer['says']}")


def _moment(text: str | None) -> date | datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _label(row: dict[str, Any], groups: Sequence[str]) -> str:
    """What a row is called: a fix by its part and what was done, other groups by their words."""
    named = {name: row[name] for name in groups if name != "age_years"}
    said = []
    if "part_no" in named or "part_name" in named:
        said.append(words.fix_label(row) if "action" in named else words.part_label(row))
        named = {
            name: value for name, value in named.items() if name not in ("part_no", "part_name", "action")
        }
    elif "action" in named:
        said.append(words.DONE.get(named["action"], named.pop("action") or "not recorded"))
        named.pop("action", None)
    return ", ".join([*said, *(str(value or "not recorded") for value in named.values())])


def _rows(answer: dict[str, Any], rows: list[dict[str, Any]]) -> tuple[alt.LayerChart, int, int]:
    shown = [row for row in rows if row["low"] is not None]
    if not shown:
        raise NothingToDrawError(NOTHING)
    dated = [row for row in shown if row.get("month")]
    if dated and tuple(answer["groups"]) == ("month",) and _is_share(rows[0]["unit"]):
        return _months(dated), len(dated), len(dated)
    shown = sorted(shown, key=lambda row: -row["denominator"])[:MOST_ROWS]
    if "month" in answer["groups"]:
        shown.sort(key=lambda row: row["month"] or "")
    else:
        shown.sort(key=lambda row: -row["low"])
    shown = words.tell_parts_apart(shown)
    frame = pl.DataFrame(
        [
            {
                "label": _label(row, answer["groups"]) or answer["label"],
                "said": _said(row),
                **{name: row[name] for name in ("low", "value", "high", "sample")},
            }
            for row in shown
        ],
        schema_overrides={"low": pl.Float64, "value": pl.Float64, "high": pl.Float64},
    )
    return interval_rows(frame, _scale(rows[0]["unit"])), len(shown), len(rows)


def _months(dated: list[dict[str, Any]]) -> alt.LayerChart:
    """Months one after the other; those whose fixes could not all be followed to the end are not yet known."""
    frame = pl.DataFrame(
        [
            {
                "month": first_of(row["month"]),
                "said": _said(row),
                **{name: row[name] for name in ("low", "value", "high", "sample")},
                "is_known": "mature_denominator" not in row or is_known(row),
                "stands_out": row.get("band") == "worse",
            }
            for row in dated
        ],
        schema_overrides={"low": pl.Float64, "value": pl.Float64, "high": pl.Float64},
    )
    return by_month(frame, dated[0]["unit"], None, "")


def _is_share(unit: str) -> bool:
    return unit.startswith(("share", "probability"))


def _said(row: dict[str, Any]) -> str:
    if _is_share(row["unit"]):
        return words.share_said(row)
    counts = f"{words.figure(row['numerator'])} / {words.whole(row['denominator'])}"
    if row["value"] is None:
        return f"{counts} · too few to say"
    return f"{words.figure(row['value'] * _factor(row['unit']))} · {counts}"


def _factor(unit: str) -> float:
    return 100.0 if unit == "failures per machine-year" else 1.0


def _scale(unit: str) -> Scale:
    if _is_share(unit):
        return Scale(unit, ".0%", most=1)
    if unit == "failures per machine-year":
        return Scale("breakdowns a year per 100 machines", ".1~f", factor=_factor(unit))
    return Scale(unit, ".1~f")


def _curves(answer: dict[str, Any], rows: list[dict[str, Any]]) -> tuple[alt.TopLevelMixin, int, int]:
    groups, line = answer["line"]["groups"], answer["line"]
    behind: dict[str, float] = {}
    for row in words.tell_parts_apart(rows):
        label = _label(row, groups)
        behind[label] = max(behind.get(label, 0.0), row["denominator"])
    apart = words.tell_parts_apart(line["rows"])
    frame = pl.DataFrame([{**row, "label": _label(row, groups)} for row in apart], infer_schema_length=None)
    frame = frame.with_columns(pl.col("low", "high", "value").cast(pl.Float64))
    kept = sorted(behind, key=lambda label: (-behind[label], label))[:MOST]
    drawn = frame.filter(pl.col("label").is_in(kept))
    chart: alt.TopLevelMixin = _curve(answer, drawn)
    apart = frame.filter(pl.col("label").str.contains(" less ") & ~pl.col("label").is_in(list(behind)))
    if apart.height:
        chart = alt.vconcat(_bare(chart), _bare(mean_cumulative_difference(apart)))
        chart = look.finish(chart)
    return chart, min(len(kept), len(behind)), len(behind)


def _bare(chart: alt.LayerChart) -> alt.LayerChart:
    """A chart without what only the whole drawing may have."""
    bare = chart.copy()
    bare.config, bare.autosize, bare.padding = alt.Undefined, alt.Undefined, alt.Undefined
    return bare.properties(width=chart_files.WIDTH)


def _curve(answer: dict[str, Any], frame: pl.DataFrame) -> alt.LayerChart:
    if answer["name"] == "part-life":
        return life_curves(frame)
    if answer["name"] == "repairs-by-age":
        return mean_cumulative(frame)
    return time_distribution(frame, answer["line"]["x_unit"])


def main(arguments: Sequence[str] | None = None) -> int:
    """Draw what stands on standard input into the file named."""
    path = Path((sys.argv[1:] if arguments is None else list(arguments))[0])
    (answer,) = json.load(sys.stdin)
    if not chart_files.can_draw():
        sys.stderr.write(f"mendstat: {chart_files.MISSING}\n")
        return 2
    try:
        drawn = draw(answer).to_dict()
    except NothingToDrawError as nothing:
        sys.stderr.write(f"mendstat: {nothing}\n")
        return 1
    content = chart_files.as_file(drawn, path.suffix.lower().removeprefix("."))
    try:
        path.write_bytes(content)
    except OSError as error:
        sys.stderr.write(
            f"mendstat: {path} could not be written ({error.strerror}). Name another file with --chart.\n"
        )
        return 3
    return 0


if __name__ == "__main__":
    sys.exit(main())
