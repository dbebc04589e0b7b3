"""Charts as files: SVG and PNG without any other machine, CSV that no spreadsheet takes for formulas."""

import io
import json

import polars as pl
import pytest

from dashboards import chart_files, draw, words
from dashboards.charts.interval_rows import BELOW, STEP
from dashboards.charts.life_curves import life_curves
from pipeline.cli import main
from tests.dashboards.test_curves import rows

DRAWN = life_curves(rows("cleaned")).to_dict()


def test_svg_has_a_width_of_its_own_and_its_words():
    svg = chart_files.as_file({**DRAWN, "description": "Half of them"}, "svg").decode()
    assert svg.startswith("<svg")
    assert "Half of them" in svg
    assert "cleaned: still followed" in svg
    assert DRAWN["width"] == "container"


def test_png_is_a_picture():
    assert chart_files.as_file(DRAWN, "png").startswith(b"\x89PNG")


def test_numbers_behind_a_chart_are_no_formulas():
    content = chart_files.as_csv(pl.DataFrame({"label": ["=1+1", "pump"], "value": [-0.5, 1.0]})).decode()
    assert content.splitlines() == ["label,value", "'=1+1,-0.5", "pump,1.0"]


@pytest.mark.parametrize(
    ("name", "more", "words"),
    [
        ("part-life", ["--by", "action"], "days since the fix"),
        ("repairs-by-age", ["--by", "unit_type"], "age of the machine, years"),
        ("time-to-fix", ["--clock", "restored"], "days since the report"),
        ("part-failure-rate", [], "breakdowns a year per 100 machines"),
        ("repeat-visits", ["--by", "part_no,action"], "probability of a repeat within 30 days"),
        ("repeat-visits", ["--by", "month"], "not yet known"),
    ],
)
def test_every_figure_is_drawn_into_a_file(sample_store, tmp_path, name, more, words):
    target = tmp_path / "chart.svg"
    assert main(["measure", name, *more, "--chart", str(target), "--store", str(sample_store)]) == 0
    svg = target.read_text(encoding="utf-8")
    assert words in svg
    assert "Likely range: 95" in svg


def answer(count, says):
    row = {"low": 5.0, "value": 7.0, "high": 9.0, "sample": "enough", "numerator": 7.0, "denominator": 100.0}
    row |= {"unit": "hours per 100 jobs", "basis": "fault jobs", "from": None, "complete_to": None}
    rows = [{"unit_type": f"kind {number}", **row} for number in range(count)]
    return {"name": "unpaid-hours", "label": "Hours", "says": says, "groups": ["unit_type"], "rows": rows}


def test_what_a_drawing_says_above_takes_nothing_from_its_rows(monkeypatch):
    monkeypatch.setattr(words, "window", lambda _row: "2025")
    short, long = (draw.draw(answer(1, says)).to_dict()["height"] for says in ("Few.", "Many words. " * 20))
    assert short > STEP + BELOW
    assert long - short == draw.TITLE_LINE * 2


def test_a_line_that_goes_nowhere_is_drawn_as_rows_and_nothing_at_all_is_said_so(
    monkeypatch, tmp_path, capsys
):
    monkeypatch.setattr(words, "window", lambda _row: "2025")
    bare = {**answer(1, "Few."), "line": {"groups": [], "x_unit": "minutes", "rows": []}}
    assert draw.draw(bare).to_dict()["height"] > STEP
    bare["rows"] = [{**row, "low": None} for row in bare["rows"]]
    monkeypatch.setattr("sys.stdin", io.StringIO(json.dumps([bare])))
    assert draw.main([str(tmp_path / "chart.svg")]) == 1
    assert capsys.readouterr().err == f"mendstat: {draw.NOTHING}\n"
    assert not (tmp_path / "chart.svg").exists()


def test_more_groups_than_lines_says_which_are_drawn(sample_store, tmp_path, capfd):
    target = tmp_path / "chart.svg"
    assert (
        main(
            [
                "measure",
                "repairs-by-age",
                "--by",
                "unit_type",
                "--chart",
                str(target),
                "--store",
                str(sample_store),
            ]
        )
        == 0
    )
    assert "the 4 with most behind them, of 7" in target.read_text(encoding="utf-8")


def test_other_endings_are_refused_before_anything_is_worked_out(tmp_path, capsys):
    assert main(["measure", "part-life", "--chart", "chart.jpg", "--store", str(tmp_path)]) == 2
    assert capsys.readouterr().err == (
        "mendstat: --chart takes a file that ends in .svg or .png, but was chart.jpg.\n"
    )


def test_missing_package_is_one_sentence(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("importlib.util.find_spec", lambda _name: None)
    assert main(["measure", "part-life", "--chart", "chart.svg", "--store", str(tmp_path)]) == 2
    assert capsys.readouterr().err == (
        "mendstat: Charts as files need one more package: pip install 'mendstat[charts]'.\n"
    )


def test_a_chart_that_cannot_be_written_says_so(tmp_path, capsys, monkeypatch):
    answer = (
        '[{"name": "part-life", "label": "L", "says": "S", "groups": [], "rows": [{"basis": "b", "low": 0.1,'
    )
    answer += (
        '"value": 0.2, "high": 0.3, "numerator": 2, "denominator": 60, "unit": "share", "sample": "enough",'
    )
    answer += '"from": "2026-01-01", "complete_to": "2026-02-01"}]}]'
    monkeypatch.setattr("sys.stdin", io.StringIO(answer))
    assert draw.main([str(tmp_path / "none" / "chart.svg")]) == 3
    assert "could not be written (No such file or directory)" in capsys.readouterr().err


def test_two_groups_are_drawn_with_their_difference():
    row = {"basis": "machine list", "denominator": 60, "from": "2026-01-01", "complete_to": "2026-02-01"}
    answer = {
        "name": "repairs-by-age",
        "label": "Repairs",
        "says": "More.",
        "groups": ["unit_type", "age_years"],
        "rows": [{**row, "unit_type": kind} for kind in ("dryer", "washer")],
        "line": {
            "groups": ["unit_type"],
            "x_unit": "age, years",
            "rows": [
                {**point, "unit_type": kind}
                for kind in ("dryer", "washer", "dryer less washer")
                for point in rows("").drop("label").with_columns(pl.col("x") / 30).to_dicts()
            ],
        },
    }
    drawn = draw.draw(answer).to_dict()
    assert len(drawn["vconcat"]) == 2
    assert b"<svg" in chart_files.as_file(drawn, "svg")


def test_pages_offer_each_chart_in_three_forms(fleet, page):
    at = page("what-the-log-says")
    offered = at.get("download_button")
    labels = [button.proto.label for button in offered]
    assert labels == ["SVG", "PNG", "CSV"] * (len(labels) // 3)
    assert len(labels) >= 9


def test_without_the_package_the_numbers_are_still_offered(fleet, page, monkeypatch):
    monkeypatch.setattr(chart_files, "can_draw", lambda: False)
    offered = page("what-the-log-says").get("download_button")
    assert {button.proto.label for button in offered if not button.proto.disabled} == {"CSV"}
