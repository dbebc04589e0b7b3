"""A figure with thousands of rows: a page lists those with most behind them and says so."""

import polars as pl
from streamlit.testing.v1 import AppTest

from dashboards import listed
from pipeline.measures import Question


def test_what_a_page_leaves_out_is_told_with_the_command_that_gives_all():
    rows, by = pl.DataFrame({"unit_type": ["oven"] * 3 + ["hob"]}), ("unit_type", "symptom")
    assert listed.left_out("first-visit", rows, Question(by=by, most=3)) == (
        "Listed are the 3 rows with most jobs behind them, of each kind of machine; `mendstat measure first-visit "
        "--by unit_type --by symptom` gives all."
    )
    assert listed.left_out("first-visit", rows, Question(by=by, most=4)) == ""
    assert listed.left_out("first-visit", rows, Question(by=by)) == ""


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
