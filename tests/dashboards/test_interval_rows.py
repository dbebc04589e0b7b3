"""The interval rows: what is drawn for enough, rough and too few, with units and without surprises."""

import polars as pl
import pytest

from dashboards import look
from dashboards.charts.interval_rows import BELOW, OFFSET, STEP, Scale, interval_rows

ROWS = pl.DataFrame(
    {
        "label": [
            "pump, freed",
            "pump, freed again",
            "pump, new one fitted",
            "seal, cleaned",
            "valve, freed",
        ],
        "said": ["24 % · 22 of 92", "4 of 9 · too few to say", "5 % · 4 of 88", "9 of 20 · rough", "0 of 3"],
        "low": [0.163, 0.189, 0.018, 0.258, 0.0],
        "value": [0.239, None, 0.045, 0.45, None],
        "high": [0.336, 0.733, 0.111, 0.658, None],
        "sample": ["enough", "too few", "enough", "rough", "too few"],
        "kept": [True, True, False, True, True],
    }
)
SCALE = Scale("back within 90 days", ".0%", most=1)


def drawn(rows=ROWS, scale=SCALE, **extra):
    return interval_rows(rows, scale, **extra).to_dict()


def layer(chart, mark, at=0):
    return [found for found in chart["layer"] if found["mark"]["type"] == mark][at]


def data_of(chart):
    return max(chart["datasets"].values(), key=len)


def test_axis_starts_at_nought_and_says_the_unit():
    x = layer(drawn(), "rule")["encoding"]["x"]
    assert x["scale"]["domain"][0] == 0
    assert x["title"] == "back within 90 days"
    assert x["axis"]["format"] == ".0%"


def test_range_runs_from_low_to_high():
    encoding = layer(drawn(), "rule")["encoding"]
    assert (encoding["x"]["field"], encoding["x2"]["field"]) == ("low_drawn", "high_drawn")
    first = data_of(drawn())[0]
    assert (first["low_drawn"], first["high_drawn"]) == (0.163, 0.336)


def test_too_few_is_dashed_and_has_no_point():
    chart = drawn()
    dash = layer(chart, "rule")["encoding"]["strokeDash"]
    assert dash["condition"][0] == {"test": "datum.sample === 'too few'", "value": [5, 5]}
    points = [
        found for found in chart["layer"] if found["mark"]["type"] == "point" and "x" in found["encoding"]
    ]
    point = next(found for found in points if found["encoding"]["x"]["field"] == "value")
    assert point["transform"] == [{"filter": "isValid(datum.value) && datum.sample !== 'too few'"}]


def test_rough_is_hollow_and_enough_is_filled():
    points = [found for found in drawn()["layer"] if "fill" in found["encoding"]]
    conditions = points[0]["encoding"]["fill"]["condition"]
    assert conditions[0] == {"test": "datum.sample === 'rough'", "value": look.PAPER}
    assert points[0]["encoding"]["fill"]["value"] == look.TEAL


def test_two_kinds_of_thing_differ_in_shape_and_not_only_in_colour():
    point = next(found for found in drawn()["layer"] if "fill" in found["encoding"])
    assert point["encoding"]["shape"]["condition"][0] == {"test": "datum.kept", "value": "square"}
    assert point["encoding"]["shape"]["value"] == "circle"


def test_a_range_that_says_too_little_does_not_squeeze_the_others():
    top = layer(drawn(), "rule")["encoding"]["x"]["scale"]["domain"][1]
    assert top == pytest.approx(0.658 * 1.06)
    rows = data_of(drawn())
    assert [row["is_cut"] for row in rows] == [False, True, False, False, True]
    assert rows[4]["high_drawn"] == top


def test_a_share_never_reaches_past_all_of_them():
    rows = ROWS.head(1).with_columns(high=pl.lit(0.99))
    assert layer(drawn(rows), "rule")["encoding"]["x"]["scale"]["domain"] == [0, 1]


def test_factor_turns_a_rate_into_one_for_100_machines():
    rows = pl.DataFrame(
        {"label": ["p"], "said": ["s"], "low": [0.02], "value": [0.03], "high": [0.05], "sample": ["enough"]}
    )
    row = data_of(drawn(rows, Scale("breakdowns a year per 100 machines", ".1~f", factor=100)))[0]
    assert (row["low_drawn"], row["value"], row["high_drawn"]) == pytest.approx((2, 3, 5))


def test_the_value_that_decides_stands_as_a_dotted_line_with_its_words():
    chart = drawn(reference=0.117, reference_words="freeing pays below 11.7 %")
    rule, stub, words = chart["layer"][:3]
    assert rule["mark"]["strokeDash"] == stub["mark"]["strokeDash"] == [2, 3]
    assert words["encoding"]["text"]["field"] == "words"
    assert {"at": 0.117, "words": "freeing pays below 11.7 %"} in [
        row for rows in chart["datasets"].values() for row in rows
    ]


def test_the_dotted_line_stands_beside_the_ranges_and_not_in_the_words_of_the_rows():
    rule = drawn(reference=0.117, reference_words="all together")["layer"][0]
    # The lowest words of a row end 7 pixels below its middle; half a row further the next one begins.
    assert rule["encoding"]["x"]["datum"] == 0.117
    assert 7 < rule["mark"]["yOffset"] < OFFSET < rule["mark"]["y2Offset"] == STEP / 2


def test_label_and_counts_are_text_of_at_least_14_pixels():
    sizes = [
        found["mark"].get("fontSize", 14) for found in drawn()["layer"] if found["mark"]["type"] == "text"
    ]
    assert sizes
    assert min(sizes) >= 14
    assert drawn()["config"]["axis"]["labelFontSize"] == 14


def test_every_row_has_its_own_height_so_that_labels_never_meet():
    assert drawn()["height"] == 5 * STEP + BELOW


def test_rows_stand_in_the_order_given():
    assert [row["row"] for row in data_of(drawn())] == [0, 1, 2, 3, 4]
    assert layer(drawn(), "rule")["encoding"]["y"]["sort"] == "ascending"


@pytest.mark.parametrize(("high", "written"), [(0.009, ".1~%"), (0.2, ".0%")])
def test_no_tick_says_the_same_as_the_one_before(high, written):
    row = {"label": "washer", "said": "0 of 446", "low": 0.0, "value": 0.0, "high": high, "sample": "enough"}
    drawn = interval_rows(pl.DataFrame([row]), Scale("share", ".0%", most=1)).to_dict()
    axes = [
        layer["encoding"]["x"]["axis"] for layer in drawn["layer"] if "axis" in layer["encoding"].get("x", {})
    ]
    assert [axis["format"] for axis in axes] == [written]
