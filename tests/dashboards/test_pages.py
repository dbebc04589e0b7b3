"""The pages on a made-up fleet: they run, a filter moves them, and the number shown is the frame's."""

import json

import polars as pl
import pytest

from dashboards import blocks, data, words
from dashboards.pages import PAGES
from pipeline.vocabulary import cautions

PATHS = [page.path for page in PAGES]


def texts(at) -> str:
    return "\n".join(found.proto.body for found in at.get("html"))


def answers(at) -> list[str]:
    return [found.proto.body for found in at.get("html") if 'class="answer"' in found.proto.body]


def test_first_page_asks_the_three_headlines(fleet, first_page):
    at = first_page()
    assert not at.exception
    assert at.title[0].value == "What the log says"
    asked = [
        "Which parts break down most often?",
        "How often are we called back?",
        "How long does a fix take?",
    ]
    assert [header.value for header in at.header] == asked


@pytest.mark.parametrize("path", PATHS)
def test_every_page_runs_and_says_what_to_do_next(fleet, page, path):
    at = page(path)
    assert not at.exception
    assert at.header
    assert "What to do next" in texts(at)


@pytest.mark.parametrize("path", PATHS)
def test_every_chart_has_its_finding_as_text(fleet, page, path):
    charts = page(path).get("vega_lite_chart")
    assert all(len(chart.proto.alt) > 40 for chart in charts)


def test_answer_gives_the_numbers_of_the_frame(fleet, first_page):
    rows = fleet.ask("part-failure-rate", by=("part_no",)).rows
    first = max(rows, key=lambda row: row["low"])
    value = words.figure(first["value"] * 100)
    assert (
        f"{first['part_name']}: {first['numerator']:.0f} breakdowns, about {value} a year"
        in answers(first_page())[0]
    )


def test_chart_gets_the_numbers_of_the_frame(fleet, first_page):
    rows = fleet.ask("repeat-visits", by=("part_no", "action"), days=30, kind="same-fault").rows
    said = {words.share_said(row) for row in rows}
    chart = first_page().get("vega_lite_chart")[2]
    assert all(
        piece.split(": ")[1] in said
        for piece in chart.proto.alt.split(". ", 2)[-1].rstrip(".").split("; ")[1:]
    )
    assert json.loads(chart.proto.spec)["layer"]


def test_choosing_a_kind_of_machine_moves_every_answer(fleet, first_page):
    at = first_page()
    before = answers(at)
    fleet.asked.clear()
    at.selectbox[0].set_value("washer").run()
    assert not at.exception
    assert all("unit_type" in question["by"] for _, question in fleet.asked)
    assert answers(at)[0] != before[0]


def test_choosing_90_days_asks_for_90_days(fleet, first_page):
    at = first_page()
    fleet.asked.clear()
    at.get_by_key("repeat_days").set_value(90).run()
    assert "within 90 days" in answers(at)[1]
    assert {question["days"] for name, question in fleet.asked if name == "repeat-visits"} == {90}


def test_choosing_a_clock_changes_the_chart_and_its_unit(fleet, first_page):
    at = first_page()
    at.get_by_key("clock").set_value("restored").run()
    assert "days without the machine, mean" in at.get("vega_lite_chart")[-1].proto.alt


def test_mature_figure_stands_beside_the_share_that_came_back(fleet, first_page):
    row = fleet.ask("repeat-visits", by=(), days=30, kind="same-fault").rows[0]
    mature = f"{row['mature_numerator']:,.0f} of {row['mature_denominator']:,.0f}"
    assert f"followed for all 30 days, {mature}" in answers(first_page())[1]


def test_long_lists_show_twelve_rows_and_fold_the_rest(fleet, first_page):
    at = first_page()
    shown, folded = at.get("vega_lite_chart")[:2]
    assert (
        shown.proto.alt.count(" breakdowns")
        == 12 + shown.proto.alt.split("Shown")[0].count(" breakdowns") + 1
    )
    assert "The other 3" in [expander.label for expander in at.expander]
    assert "too few to say" in folded.proto.alt


@pytest.mark.parametrize("path", [path for path in PATHS if path not in ("how-to-read", "a-new-file")])
def test_without_a_log_a_page_says_how_to_load_one(no_log, page, path):
    at = page(path)
    assert not at.exception
    assert blocks.NO_LOG in texts(at)


def test_reading_page_stands_without_a_log(no_log, page):
    at = page("how-to-read")
    assert not at.exception
    assert blocks.NO_LOG in texts(at)


def test_where_the_log_cannot_answer_the_fixed_share_leads_and_the_refusals_follow(fleet, first_page):
    sentence = "The log gives its machines no identity, so nobody can say whether a machine came back."
    fleet.refused = dict.fromkeys(("part-failure-rate", "repeat-visits", "time-to-fix"), sentence)
    at = first_page()
    assert not at.exception
    assert [header.value for header in at.header] == [
        "How many jobs end fixed?",
        "What stopped the rest?",
        "Are faults missed?",
        "What can this log not say yet?",
    ]
    assert "5,420 of 9,100" in answers(at)[0]
    assert "5,420 of 9,900" in answers(at)[0]
    assert texts(at).count(sentence) == 3
    assert at.selectbox


def test_one_refusal_leaves_the_other_answers_in_place(fleet, first_page):
    fleet.refused = {"repeat-visits": "No job ended fixed on a known day."}
    asked = [header.value for header in first_page().header]
    assert asked == [
        "Which parts break down most often?",
        "How long does a fix take?",
        "How many jobs end fixed?",
        "What stopped the rest?",
        "Are faults missed?",
        "What can this log not say yet?",
    ]


def test_a_clock_that_is_refused_leaves_the_other_two(fleet, first_page, monkeypatch):
    asking = fleet.ask
    refusal = data.Answer(refusal="One value stands in most rows of hands_on_min, so these are booked slots.")

    def ask(measure, **question):
        return refusal if question.get("clock") == "hands-on" else asking(measure, **question)

    monkeypatch.setattr(type(fleet), "ask", lambda self, measure, **question: ask(measure, **question))
    at = first_page()
    assert not at.exception
    assert "4.1 days without the machine" in answers(at)[2]
    assert refusal.refusal in answers(at)[2]


def test_log_page_gives_the_sum_of_every_file(fleet, page):
    shown = texts(page("the-log"))
    for file in fleet.files():
        assert file["received"] == file["used"] + file["repeated"] + file["replaced"] + file["set_aside"]
        assert f"{file['received']:,} received = {file['used']:,} used" in shown


def test_log_page_names_column_reason_and_records(fleet, page):
    shown = texts(page("the-log"))
    assert "reported_at: this date cannot be read (looks like 99/99/9999)" in shown
    assert "17, 203, 1204, 1399, 2045, 2046, 3001, 3002 and 3 more" in shown


def test_log_page_says_no_where_rows_are_not_accounted_for(fleet, page, monkeypatch):
    broken = [{**fleet.files()[0], "used": 5900}]
    monkeypatch.setattr(type(fleet), "files", lambda self: broken)
    assert "Do not trust the figures" in answers(page("the-log"))[0]


def test_text_of_a_log_cannot_become_markup(fleet, page, monkeypatch):
    planted = [{**fleet.files()[0], "file": "<img src=x onerror=alert(1)>.csv"}]
    monkeypatch.setattr(type(fleet), "files", lambda self: planted)
    assert "<img" not in texts(page("the-log"))


def test_reading_page_states_the_limits_that_the_measures_use(fleet, page):
    limits = data.sample_limits()
    shown = texts(page("how-to-read"))
    assert f"fewer than {limits['proportion_enough_n']} jobs" in shown
    assert f"fewer than {limits['rate_min_events']} breakdowns" in shown


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("jargon", ["exposure", "censored", "index job", "funnel", "MTTR", "hazard"])
def test_pages_speak_of_machines_and_breakdowns(fleet, page, path, jargon):
    assert jargon.lower() not in texts(page(path)).lower()


@pytest.mark.parametrize("path", ["what-the-log-says", "how-to-read"])
def test_pages_that_name_work_on_machines_carry_the_caution(fleet, page, path):
    assert cautions.GENERAL in texts(page(path))


def test_what_a_figure_leaves_out_is_said_below_it(fleet, first_page, monkeypatch):
    asking = type(fleet).ask

    def ask(self, measure, **question):
        found = asking(self, measure, **question)
        return data.Answer(
            found.frame.with_columns(note=pl.lit("12 fixed jobs without a known machine left out"))
        )

    monkeypatch.setattr(type(fleet), "ask", ask)
    assert "12 fixed jobs without a known machine left out." in texts(first_page())


def test_machines_that_were_lost_from_sight_are_shown_beside_it(fleet, first_page, monkeypatch):
    asking = type(fleet).ask

    def ask(self, measure, **question):
        found = asking(self, measure, **question).frame
        return data.Answer(found.with_columns(basis=pl.lit("machines seen"), value_24_months=pl.lit(0.0712)))

    monkeypatch.setattr(type(fleet), "ask", ask)
    assert "the 5.2 for the flow meter would be 7.1" in texts(first_page())


def test_shares_of_jobs_are_never_called_a_rate(fleet, first_page, monkeypatch):
    asking = type(fleet).ask

    def ask(self, measure, **question):
        found = asking(self, measure, **question).frame
        if measure == "part-failure-rate":
            found = found.with_columns(basis=pl.lit("shares"), denominator=pl.lit(1170.0))
        return data.Answer(found)

    monkeypatch.setattr(type(fleet), "ask", ask)
    at = first_page()
    assert not at.exception
    assert at.header[0].value == "Which parts do we work on most?"
    first = texts(at).split("What to do next")[0]
    assert "a year" not in first
    assert "breakdown" not in first.replace("breakdowns a year per 100 machines", "")


def test_columns_that_were_not_kept_are_named_by_position(fleet, page, monkeypatch):
    kept = [{**fleet.files()[0], "columns_left_out": [3, 14]}]
    monkeypatch.setattr(type(fleet), "files", lambda self: kept)
    assert "Columns 3 and 14 were not kept" in texts(page("the-log"))
