"""The chart by month: no point where nothing can be known yet, hatching and words there, marks that do not need colour."""

from datetime import date

import polars as pl

from dashboards.charts.by_month import by_month

ROWS = pl.DataFrame(
    {
        "month": [date(2025, 11, 1), date(2025, 12, 1), date(2026, 1, 1)],
        "said": ["8 of 90", "20 of 80", "2 of 55"],
        "low": [0.045, 0.17, 0.01],
        "value": [0.089, 0.25, None],
        "high": [0.17, 0.36, 0.19],
        "sample": ["enough", "enough", "too few"],
        "is_known": [True, True, False],
        "stands_out": [False, True, False],
    }
)


def drawn(rows=ROWS, reference=0.1):
    # With the check against the schema, which the pages leave out.
    return by_month(rows, "back within 30 days", reference, "all together: 10 %").to_dict()


def marks(chart):
    flat = [inner for layer in chart["layer"] for inner in layer.get("layer", [layer])]
    return [layer["mark"]["type"] for layer in flat]


def data_of(chart, mark):
    layer = next(found for found in chart["layer"] if found.get("mark", {}).get("type") == mark)
    return chart["datasets"][layer["data"]["name"]]


def test_only_known_months_have_a_point():
    assert [row["said"] for row in data_of(drawn(), "point")] == ["8 of 90", "20 of 80"]


def test_months_not_yet_known_are_hatched_and_say_so():
    chart = drawn()
    ground = data_of(chart, "rect")
    assert ground[0]["start"].startswith("2026-01-01")
    assert ground[0]["end"].startswith("2026-02-01")
    words = [
        layer["encoding"]["text"].get("value")
        for layer in chart["layer"]
        if layer.get("mark", {}).get("type") == "text"
    ]
    assert "not yet known" in words


def test_where_every_month_is_known_nothing_is_hatched():
    assert "rect" not in marks(drawn(ROWS.head(2)))


def test_a_month_that_stands_out_has_another_shape():
    point = next(layer for layer in drawn()["layer"] if layer.get("mark", {}).get("type") == "point")
    assert point["encoding"]["shape"]["condition"] == [{"test": "datum.stands_out", "value": "square"}]


def test_the_axis_starts_at_nought_and_all_layers_share_it():
    chart = drawn()
    domains = {
        str(layer["encoding"]["y"]["scale"]["domain"])
        for layer in chart["layer"]
        if "scale" in layer.get("encoding", {}).get("y", {})
    }
    assert len(domains) == 1
    assert domains.pop().startswith("[0, 0.37")


def test_without_a_reference_there_is_no_dotted_line():
    assert len(marks(drawn(reference=None))) == len(marks(drawn())) - 2
