"""What pays: the words of the two questions about money, and what a person can try on the page."""

import pytest
from fake_money import TERMS, balance, installations, payoffs, verdicts

from dashboards.questions import cleaning, earning, ways_of_failing
from dashboards.questions import installations as installations_question
from dashboards.questions.rows import chart_frame


def texts(at):
    return "\n".join(found.proto.body for found in at.get("html"))


def test_page_names_the_fix_that_leaves_most_and_the_one_that_leaves_least(fleet, page):
    said = texts(page("what-pays"))
    assert "Most surely “flow meter, new one fitted”: about EUR 92 an hour (likely 84 to 101)" in said
    assert "Least “flow meter, cleaned”: about EUR 28 an hour" in said
    assert "For 1 of 4 fixes there is too little to tell" in said
    assert "Below what an hour costs you: “flow meter, cleaned”" in said


def test_three_verdicts_stand_apart_and_the_open_one_is_grey(fleet, page):
    said = texts(page("what-pays"))
    assert "for the firm, job by job, swap it; for the customer, clean; in hours, clean." in said
    assert '<span class="undecided">Cannot tell yet for the firm, when the diary is full.</span>' in said
    assert "age band: 0 to 2 years" in said
    assert "2.4 times as common on one side" in said


def test_dotted_stroke_stands_where_the_verdict_turns(fleet, page):
    charts = [found.proto for found in page("what-pays").get("vega_lite_chart")]
    one = next(chart for chart in charts if "where it turns" in chart.alt)
    assert "cleaning is better below 11.0\xa0% back" in one.alt
    assert "better to swap at any rate of returns" in one.alt
    assert '"field":"turns"' in one.spec.replace(" ", "")
    rows = next(iter(cleaning.by_part(verdicts({"by": ()})).values()))
    assert chart_frame([cleaning._drawn(row) for row in rows])["turns"].to_list() == [None, 0.11, 0.87, 0.9]


def test_an_hour_that_costs_more_is_asked_with_that(fleet, page):
    at = page("what-pays")
    at.number_input(key="money_hour").set_value(50.0).run()
    assert not at.exception
    asked = [question for measure, question in fleet.asked if measure == "clean-or-replace"]
    assert asked[-1]["hour_costs"] == 50.0


def test_flat_price_is_asked_for_and_used(fleet, page):
    at = page("what-pays")
    at.selectbox(key="money_pricing").set_value("flat").run()
    at.number_input(key="money_price").set_value(140.0).run()
    asked = [question for measure, question in fleet.asked if measure == "fix-payoff"]
    assert (asked[-1]["pricing"], asked[-1]["flat_price"]) == ("flat", 140.0)


def test_without_the_cost_of_an_hour_the_page_asks_for_it(fleet, page):
    fleet.money = {**TERMS, "hour_costs": None}
    at = page("what-pays")
    assert "First say what an hour of your own work costs" in texts(at)
    assert not [c for c in at.get("vega_lite_chart") if "where it turns" in c.proto.alt]
    at.number_input(key="money_hour").set_value(35.0).run()
    assert "for the customer, clean" in texts(at)


@pytest.mark.parametrize(
    ("place", "says"),
    [
        (1, "cannot tell. Too few jobs were alike: 70 cleaned and 52 replaced"),
        (2, "It keeps people safe, so money does not decide"),
    ],
)
def test_part_that_is_not_decided_by_money_says_why(fleet, page, place, says):
    at = page("what-pays")
    box = at.selectbox(key="clean_part")
    wanted = next(
        key for key in cleaning.by_part(verdicts({"by": ()})) if key.startswith(("FM", "DP", "DL")[place])
    )
    box.set_value(wanted).run()
    assert says in texts(at)


def test_verdicts_that_differ_are_told_to_the_customer():
    rows = next(iter(cleaning.by_part(verdicts({"by": ()})).values()))
    assert "The verdicts differ" in cleaning._what_next(rows)
    alike = [{**row, "verdict": "replace"} for row in rows]
    assert "house rule" in cleaning._what_next(alike)
    assert "the rest is open" in cleaning._what_next([*alike[1:], {**rows[0], "verdict": "cannot tell"}])
    assert "mendstat toss --part FM-2041" in cleaning._what_next(
        [{**row, "verdict": "cannot tell"} for row in rows]
    )


def test_payers_are_not_put_together():
    rows = payoffs({"by": ()}) + [{**row, "payer": "insurer"} for row in payoffs({"by": ()})[:1]]
    assert earning.commonest_purse(rows) == ("customer", "EUR")
    assert balance({"by": ()})[0]["weighted"] == 0.5


def test_bad_installations_are_told_with_what_came_before_and_as_no_cause(fleet, page):
    said = texts(page("what-pays"))
    assert "Found most surely: “dishwasher: drain hose without rise”, 56 of 415" in said
    assert (
        "Before 70 such finds the machines had been fixed 21 times for the same complaint, in 21 hours and with EUR 701 of parts."
        in said
    )
    assert "Whether those fixes were for nothing is not known." in said
    assert "Found in 1 more without a note that somebody looked." in said


def test_guarantee_and_bills_can_be_tried_and_move_both_questions_about_money(fleet, page):
    at = page("what-pays")
    at.number_input(key="money_guarantee").set_value(180).run()
    at.number_input(key="money_change").set_value(10.0).run()
    assert not at.exception
    for measure in ("fix-payoff", "clean-or-replace"):
        question = [asked for name, asked in fleet.asked if name == measure][-1]
        assert (question["guarantee_days"], question["price_change"]) == (180, 10.0)


def test_fields_about_money_stand_once_also_where_the_first_question_is_refused(fleet, page):
    assert len([box for box in page("what-pays").selectbox if box.key == "money_pricing"]) == 1
    fleet.refused = {"fix-payoff": "The log records no charges."}
    at = page("what-pays")
    assert len([box for box in at.selectbox if box.key == "money_pricing"]) == 1


def test_of_many_fixes_those_that_leave_most_and_least_are_in_sight():
    rows = [{"high": 100.0 - at, "low": 90.0 - at, "at": at} for at in range(30)]
    assert [row["at"] for row in earning.ends_first(rows)][:12] == [*range(6), *range(24, 30)]
    assert len(earning.ends_first(rows)) == 30
    assert earning.ends_first(rows[:12]) == rows[:12]


def test_range_of_the_turning_point_is_drawn_as_far_as_there_are_such_rates():
    row = next(iter(cleaning.by_part(verdicts({"by": ()})).values()))[0]
    assert cleaning._range_of_turning({**row, "low_break_even": -0.5, "high_break_even": 0.2}) == (0.0, 0.2)
    assert cleaning._range_of_turning({**row, "low_break_even": 0.6, "high_break_even": 7.0}) == (0.6, 1.0)
    assert cleaning._range_of_turning({**row, "low_break_even": -2.0, "high_break_even": -0.1}) is None


def test_what_looking_saves_is_told_in_minutes_and_what_followed_is_drawn(fleet, page):
    at = page("what-pays")
    assert (
        "Looking for “dishwasher: drain hose without rise” and putting it right goes with one job fewer in every 50 minutes of "
        "looking (likely 25 to 100)."
    ) in texts(at)
    chart = next(found.proto for found in at.get("vega_lite_chart") if "within a year" in found.proto.alt)
    assert "drain hose without rise, left: same machine · 50\xa0% · 57 finds" in chart.alt
    assert "tap part closed, left: others at the address · 8 finds · too few to say" in chart.alt


def test_what_looking_saves_stays_open_where_each_cause_was_always_put_right():
    rows = [
        {**row, "left": 0, "of_again_left": None, "avoided_per_minute": None}
        for row in installations({"by": ()})
    ]
    told = installations_question.tell(rows)
    assert "one job fewer" not in told.sure
    assert told.undecided.endswith("Nor is what looking saves: each was always put right, or never.")


def way(action, mechanism, back, of):
    low, high = max(0.0, back / of - 0.15), min(1.0, back / of + 0.15)
    row = {"part_no": "FM-2041", "part_name": "flow meter", "action": action, "mechanism": mechanism}
    return {
        **row,
        "value": back / of,
        "low": low,
        "high": high,
        "numerator": back,
        "denominator": of,
        "sample": "enough",
    }


def test_freeing_what_was_not_stuck_is_told_apart_from_freeing_what_was():
    rows = [way("free", "stuck", 43, 112), way("free", "none found", 20, 23), way("replace", "stuck", 7, 72)]
    assert ways_of_failing.tell(rows) == (
        "Freed though nothing was found wrong with it, 20 of 23 came back: find it stuck or dirty before you count on that."
    )
    assert ways_of_failing.tell([rows[0], way("free", "none found", 9, 23), rows[2]]) == ""
    assert ways_of_failing.tell(rows[1:]) == ""


def test_ways_of_failing_stand_below_the_verdicts_of_the_part_shown(fleet, page):
    at = page("what-pays")
    chart = next(
        found.proto
        for found in at.get("vega_lite_chart")
        if "back with the same fault; square" in found.proto.alt
    )
    assert chart.alt.index("freed, stuck") < chart.alt.index("new one fitted, stuck")
    assert "freed though nothing was found wrong with it" in chart.alt
    assert "drain pump" not in chart.alt


def test_minutes_of_a_look_say_where_they_come_from():
    rows = [dict(row) for row in installations({"by": ()})]
    assert "(2, from the table of checks, an assumption)" in " ".join(installations_question._how(rows))
    timed = [
        {**rows[0], "minutes_a_look": 5.0, "minutes_a_look_from": "from 34 checks in the log"},
        *rows[1:],
    ]
    told = " ".join(installations_question._how(timed))
    assert "(5, from 34 checks in the log or 2, from the table of checks, an assumption)" in told
