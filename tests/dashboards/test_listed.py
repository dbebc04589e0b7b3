"""A figure with thousands of rows: a page lists those with most behind them and says so."""

import polars as pl
import pytest
from streamlit.testing.v1 import AppTest

from dashboards import listed

KINDS = ("washer", "oven")


@pytest.fixture
def many():
    count = listed.MOST + 40
    return pl.DataFrame(
        {
            "unit_type": [kind for kind in KINDS for _ in range(count)],
            "symptom": [f"in words {n}" for _ in KINDS for n in range(count)],
            "denominator": [float(n) for _ in KINDS for n in range(count)],
        }
    )


def test_of_what_people_wrote_each_kind_keeps_the_rows_with_most_behind_them(many):
    kept = listed.most_of(many, ("unit_type", "symptom"))
    assert kept.group_by("unit_type").len().sort("unit_type").rows() == [("oven", 500), ("washer", 500)]
    assert kept["denominator"].min() == 40.0


def test_what_is_not_split_by_what_people_wrote_keeps_every_row(many):
    assert listed.most_of(many, ("unit_type", "part_no")).equals(many)


def test_what_is_left_out_is_told_with_the_command_that_gives_all():
    assert listed.left_out("first-visit", ("unit_type", "symptom"), 93_099, 1_000) == (
        "Of 93,099 rows this page lists the 1,000 with most behind them; `mendstat measure first-visit --by unit_type "
        "--by symptom` gives all."
    )
    assert listed.left_out("first-visit", (), 1, 1) == ""


def test_chart_and_table_of_six_thousand_rows_are_drawn_as_far_as_anybody_reads():
    """The drawing library refuses more than five thousand."""

    def script():
        from dashboards import blocks
        from dashboards.charts.interval_rows import Scale
        from dashboards.questions.rows import Drawn, show_rows
        from dashboards.words import Told

        row = {"low": 0.1, "value": 0.2, "high": 0.3, "sample": "enough"}
        show_rows([Drawn(f"part {n}", "1 of 5", row) for n in range(6_000)], Scale("share", ".0%"), Told("."))
        blocks.worked_out([], ("part",), [(f"part {n}",) for n in range(6_000)])

    at = AppTest.from_function(script).run()
    assert not at.exception
    assert [each.label for each in at.expander] == ["The next 200, of 5,988 more", "How was this worked out"]
    shown = " ".join(each.body for each in at.get("html"))
    assert "The first 200 of 6,000 rows." in shown
    assert "part 199<" in shown
    assert "part 200<" not in shown
