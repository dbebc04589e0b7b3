"""The page on stock: the list's own numbers, the slider moves them, what cannot be said is said."""

import json

import polars as pl

from dashboards import words
from dashboards.carrying import Carry, carry
from dashboards.charts.money_and_jobs import money_and_jobs
from dashboards.questions import let_go, waited_for
from dashboards.questions.carry import said, tell
from tests.stock.fleets import basis, drawn


def texts(at) -> str:
    return "\n".join(found.proto.body for found in at.get("html"))


def answers(at) -> list[str]:
    return [found.proto.body for found in at.get("html") if 'class="answer"' in found.proto.body]


def test_owner_is_answered_question_by_question(fleet, page):
    at = page("what-to-carry")
    assert [header.value for header in at.header] == [
        "What should be on the van?",
        "What may go back or be sold?",
        "What did machines wait for?",
    ]
    assert texts(at).count("What to do next") == 3


def test_answer_and_list_are_those_of_the_choice(fleet, page):
    found = fleet.carry(None)
    at = page("what-to-carry")
    pieces = sum(row["quantity"] for row in found.listed)
    assert (
        f"{len(found.listed)} parts, {pieces} pieces, for {words.whole(found.cost)} EUR a van"
        in answers(at)[0]
    )
    assert found.promise in answers(at)[0]
    assert all(row["part_no"] in texts(at) for row in found.listed)
    assert found.cost <= found.money


def test_more_money_moves_the_list(fleet, page):
    at = page("what-to-carry")
    before = answers(at)[0]
    slider = at.slider[0]
    assert slider.value == fleet.carry(None).money
    at = slider.set_value(slider.max).run()
    assert not at.exception
    after = fleet.carry(slider.max)
    assert answers(at)[0] != before
    assert after.share > fleet.carry(None).share
    assert f"for {words.whole(after.cost)} EUR a van" in answers(at)[0]


def test_no_money_buys_nothing_and_says_so(fleet, page):
    at = page("what-to-carry")
    at = at.slider[0].set_value(0.0).run()
    assert not at.exception
    assert "nothing that is worth carrying" in answers(at)[0]


def test_refused_questions_stand_below_with_their_sentence(fleet, page):
    fleet.refused = {"van-stock": "No price of a part is known.", "stores": "No job needed a part."}
    at = page("what-to-carry")
    assert not at.exception
    assert texts(at).count("No job needed a part.") == 2
    assert "No price of a part is known." in texts(at)


def test_log_that_is_too_short_for_a_replay_still_gives_a_list():
    past, prices = drawn(3, jobs=60)
    found = carry(basis(past, prices), None)
    assert found.listed
    told = tell(found)
    assert "cannot be told yet" in told.undecided
    assert found.now_share is None
    assert "what the vans carry now" not in said(found)


def test_chart_has_the_curve_the_list_and_today_apart_by_shape():
    curve = pl.DataFrame({"cost": [0.0, 100.0, 300.0], "share": [0.0, 0.4, 0.8]})
    drawn_chart = money_and_jobs(curve, (300.0, 0.8), (250.0, 0.5), "EUR").to_dict()
    marks = [layer["mark"] for layer in drawn_chart["layer"]]
    assert [mark["type"] for mark in marks] == ["line", "text", "point", "text", "point", "text"]
    assert {mark["shape"] for mark in marks if mark["type"] == "point"} == {"circle", "diamond"}
    assert drawn_chart["layer"][0]["encoding"]["x"]["title"] == "money in one van, EUR"
    assert drawn_chart["layer"][0]["encoding"]["y"]["scale"]["domain"] == [0, 1]
    assert "ended at the first visit" in json.dumps(drawn_chart["datasets"])
    assert "on the vans now: 50%" in json.dumps(drawn_chart["datasets"])
    alone = money_and_jobs(curve, (300.0, 0.8), None, "").to_dict()
    assert len(alone["layer"]) == 4


def test_idle_pieces_are_counted_with_their_worth(fleet):
    rows = [row for row in fleet.shelf().rows if row["let_go"]]
    assert let_go.tell(rows, "EUR").sure.startswith("13 pieces of 1 part, worth 208 EUR")
    assert "Nothing lies there" in let_go.tell([], "EUR").sure


def test_waits_are_added_up(fleet):
    rows = [row for row in fleet.shelf().rows if row["times_missing"]]
    assert waited_for.tell(rows).sure.startswith(
        "38 times a part was missing, and machines stood still for 120 days"
    )


def test_empty_page_of_a_refused_choice_has_no_rows():
    assert Carry(refusal="no").listed == []


def test_list_can_be_taken_away_to_print_and_as_a_workbook(fleet, page):
    found = fleet.carry(None)
    offered = [each.proto.label for each in page("what-to-carry").get("download_button")]
    assert {"Load list to print", "The list as a workbook"} <= set(offered)
    assert all(row["part_no"] in found.sheets for row in found.listed)
    assert pl.read_excel(found.book)["part_no"].drop_nulls().to_list() == [
        row["part_no"] for row in found.listed
    ]
