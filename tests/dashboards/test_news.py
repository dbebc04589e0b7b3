"""What is new since the last load, on the owner's page."""

import dataclasses

from fake_summary import SUMMARY

from dashboards.data import News
from dashboards.questions import news
from pipeline.estimators.usual_range import Usual
from pipeline.summary import telling
from pipeline.summary.counts import Count


def texts(at):
    return "\n".join(found.proto.body for found in at.get("html"))


def test_answer_tells_comebacks_trips_and_who_waits_against_what_is_usual():
    told = news.tell(News(SUMMARY, is_since_load=True))
    assert told.sure == (
        "Since 31 Jan 2026: 101 fault jobs reported, eight comebacks (as usual), nine trips in vain (more than usual). One machine "
        "waits for a part; the longest, a washer (job J26-03), for 19 days: drain pump."
    )
    assert told.undecided == ""


def test_comebacks_that_nobody_can_know_are_not_called_none():
    blind = dataclasses.replace(SUMMARY, comebacks=Count(0, 101, None, is_known=False))
    told = news.tell(News(blind, is_since_load=True))
    assert "comeback" not in told.sure
    assert told.undecided == telling.NO_COMEBACKS


def test_first_load_shows_the_last_month_and_a_young_log_says_so():
    month = dataclasses.replace(
        SUMMARY, period=dataclasses.replace(SUMMARY.period, name="February 2026"), in_vain=Count(2, 125, None)
    )
    told = news.tell(News(month))
    assert told.sure.startswith(
        "In February 2026: 101 fault jobs reported, eight comebacks (as usual), two trips in vain."
    )
    assert "half a year" in told.undecided


def test_page_shows_whose_bill_who_waits_and_one_thing_to_look_at(fleet, page):
    at = page("what-pays")
    said = texts(at)
    assert "one ours and seven the customer&#x27;s" in said
    assert "And 2 more." in said
    assert "More trips in vain than usual: 9 of 125 visits." in said
    assert "Confirm visits on the day." in said
    assert (
        said.index("More trips in vain") < said.index("Are we getting") if "Are we getting" in said else True
    )
    chart = at.get("vega_lite_chart")[0].proto
    assert "trips in vain: 9 of 125 · usual for so many: 0 to 7" in chart.alt
    labels = [button.proto.label for button in at.get("download_button")]
    assert "The last whole month on one page, to print" in labels


def test_kind_of_machine_is_chosen_below_the_first_answer_that_it_moves(fleet, page):
    at = page("what-pays")
    labels = [box.label for box in at.selectbox]
    assert labels[0] == "Kind of machine, for every answer from here on"
    before = texts(at).count("101 fault jobs")
    at.selectbox[0].set_value("washer").run()
    assert texts(at).count("101 fault jobs") == before


def test_log_that_cannot_be_summed_up_says_why(fleet, page):
    fleet.new = News(refusal="No job with a date has been loaded yet, so there is nothing to sum up.")
    at = page("what-pays")
    assert at.header[0].value == "Are we getting more comebacks?"
    assert "nothing to sum up" in texts(at)


def test_count_outside_what_is_usual_is_drawn_apart():
    assert news._drawn("x", Count(9, 100, Usual(0.02, 0, 7))).kept
    assert not news._drawn("x", Count(7, 100, Usual(0.02, 0, 7))).kept
