"""Curves: step line, pale range, how many are left below; told apart by dash and name; units on the axes."""

import polars as pl
import pytest

from dashboards.charts.curve import MOST
from dashboards.charts.life_curves import life_curves
from dashboards.charts.mean_cumulative import mean_cumulative, mean_cumulative_difference
from dashboards.charts.time_distribution import time_distribution

COLUMNS = ["label", "x", "value", "low", "high", "at_risk"]


def rows(*labels, ends=(365.0,)):
    points = []
    for label in labels:
        points += [(label, 0.0, 0.0, 0.0, 0.1, 62), (label, 90.0, 0.2, 0.1, 0.3, 40)]
        points += [(label, end, 0.3, 0.2, 0.5, 5) for end in ends]
    return pl.DataFrame(points, schema=COLUMNS, orient="row")


def marks(chart, kind):
    return [layer for layer in chart["layer"] if layer["mark"]["type"] == kind]


def texts(chart):
    found = []
    for layer in marks(chart, "text"):
        field = layer["encoding"]["text"]["field"]
        found += [row[field] for row in chart["datasets"][layer["data"]["name"]]]
    return found


def test_a_life_curve_has_a_line_in_steps_its_range_and_the_numbers_left():
    chart = life_curves(rows("cleaned")).to_dict()
    (line,), (band,) = marks(chart, "line"), marks(chart, "area")
    assert line["mark"]["interpolate"] == band["mark"]["interpolate"] == "step-after"
    assert (band["encoding"]["y"]["field"], band["encoding"]["y2"]["field"]) == ("low", "high")
    assert line["encoding"]["x"]["title"] == "days since the fix"
    # What is measured upwards is said too.
    assert {"share worked on again", "cleaned: still followed", "62", "40", "5"} <= set(texts(chart))


def test_no_number_is_given_where_the_line_has_ended():
    # Under 180, 270 and 365 nothing stands: the line ends at 120.
    chart = life_curves(rows("cleaned", ends=(120.0,))).to_dict()
    assert texts(chart) == ["share worked on again", "cleaned: still followed", "62", "40"]


def test_lines_are_told_apart_by_dash_and_by_name_not_by_colour_alone():
    chart = life_curves(rows("cleaned", "new one fitted")).to_dict()
    (line,) = marks(chart, "line")
    dashes = line["encoding"]["strokeDash"]["scale"]
    assert dashes["domain"] == ["cleaned", "new one fitted"]
    assert len({tuple(dash) for dash in dashes["range"]}) == 2
    samples = [layer["mark"]["strokeDash"] for layer in marks(chart, "rule")]
    assert samples == dashes["range"]


def test_more_lines_than_can_be_told_apart_are_refused():
    with pytest.raises(ValueError, match=f"one to {MOST} lines"):
        life_curves(rows(*"abcde"))


def test_a_share_never_goes_beyond_all():
    chart = life_curves(rows("cleaned").with_columns(high=pl.lit(1.0))).to_dict()
    (line,) = marks(chart, "line")
    assert line["encoding"]["y"]["scale"]["domain"] == [0.0, 1.0]


def test_repairs_by_age_are_ticked_at_whole_years():
    chart = mean_cumulative(rows("washer").with_columns(pl.col("x") / 30)).to_dict()
    (line,) = marks(chart, "line")
    assert line["encoding"]["x"]["axis"]["values"] == [0, 3, 6, 9, 12]
    assert line["encoding"]["x"]["title"] == "age of the machine, years"


def test_a_difference_may_lie_below_nought_and_has_the_line_at_nought():
    drawn = rows("dryer less washer").with_columns(low=pl.lit(-0.4))
    chart = mean_cumulative_difference(drawn.with_columns(pl.col("x") / 30)).to_dict()
    (line,) = marks(chart, "line")
    assert line["encoding"]["y"]["scale"]["domain"][0] < -0.4
    (zero,) = marks(chart, "rule")
    assert chart["datasets"][zero["data"]["name"]] == [{"at": 0.0}]


def test_the_distribution_of_times_names_its_unit_and_who_is_not_done():
    chart = time_distribution(rows(""), "minutes on the machine").to_dict()
    (line,) = marks(chart, "line")
    assert line["encoding"]["x"]["title"] == "minutes on the machine"
    assert "not done by then" in texts(chart)


def test_a_range_without_an_upper_end_is_left_out_of_the_band():
    chart = life_curves(rows("cleaned").with_columns(high=pl.lit(None, dtype=pl.Float64))).to_dict()
    (band,) = marks(chart, "area")
    assert band["transform"] == [{"filter": "isValid(datum.high) && isValid(datum.low)"}]
