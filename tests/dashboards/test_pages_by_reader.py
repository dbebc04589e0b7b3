"""What the owner, the trainer and the technician read: the frame's numbers, the undecided said as such, dangers first."""

import json
import re
from dataclasses import replace

import pytest

from dashboards import blocks, data, words
from dashboards.data import Pinned
from dashboards.pages import at_the_machine as machine_page
from dashboards.questions import checks, comebacks, holding, such_jobs, unpaid, what_is_wrong, wrong_parts
from dashboards.words import Told
from pipeline.vocabulary import cautions
from pipeline.vocabulary.recorded_minutes import Recorded


def bodies(at) -> list[str]:
    return [found.proto.body for found in at.get("html")]


def texts(at) -> str:
    return "\n".join(bodies(at))


def answers(at) -> list[str]:
    return [body for body in bodies(at) if 'class="answer"' in body]


def asked(at) -> list[str]:
    return [header.value for header in at.header]


def test_owner_is_answered_question_by_question(fleet, page):
    at = page("what-pays")
    assert asked(at) == [
        "What is new since the last load?",
        "Are we getting more comebacks?",
        "Which fixes earn, once their returns are counted?",
        "Does cleaning pay, or should we just swap it?",
        "How many jobs end at the first visit?",
        "Why was the first visit not enough?",
        "How many hours does nobody pay for?",
        "What does a bad installation cost?",
        "How long are customers without their machine?",
        "Which parts break down most often?",
        "Do machines need us more often as they age?",
    ]
    assert texts(at).count("What to do next") == len(asked(at))


def test_trainer_is_answered_question_by_question(fleet, page):
    at = page("what-does-not-hold")
    assert asked(at) == [
        "Which repairs come back?",
        "What should be taught next?",
        "Did the teaching take?",
        "Has something changed?",
        "Which comebacks await a reason?",
        "What should the next one know?",
        "Was it another part?",
        "How long does the part last after it was fixed?",
        "Are faults missed?",
        "Do we skip the test run?",
        "Which faults take far longer than usual?",
        "What is not being recorded?",
    ]
    assert texts(at).count("What to do next") == len(asked(at))


@pytest.mark.parametrize("path", ["what-pays", "what-does-not-hold"])
def test_choosing_a_kind_of_machine_moves_the_page(fleet, page, path):
    at = page(path)
    fleet.asked.clear()
    at.selectbox[0].set_value("washer").run()
    assert not at.exception
    assert fleet.asked
    assert any("unit_type" in question["by"] for _, question in fleet.asked)


@pytest.mark.parametrize("path", ["what-pays", "what-does-not-hold"])
def test_a_refusal_is_one_sentence_at_the_end_and_the_rest_stays(fleet, page, path):
    sentence = "The log gives its machines no identity, so nobody can say whether a machine came back."
    fleet.refused = {"repeat-visits": sentence}
    at = page(path)
    assert not at.exception
    assert asked(at)[-1] == "What can this log not say yet?"
    assert sentence in texts(at)
    assert len(asked(at)) >= 5


def row(of, back, *, month="2025-01", band="cannot tell", mature=None):
    value = back / of
    return {
        "numerator": back,
        "denominator": of,
        "value": value,
        "low": value * 0.7,
        "high": value * 1.4,
        "sample": "enough",
        "effective_n": float(of),
        "band": band,
        "month": month,
        "mature_denominator": of if mature is None else mature,
        "from": comebacks.first_of(month),
    }


def test_more_comebacks_are_said_only_where_the_difference_is_more_than_chance():
    before = row(1000, 90)
    assert comebacks.tell(row(500, 100, month="2025-07"), before, [before]).sure.startswith(
        "Yes: since Jul 2025 100 of 500"
    )
    assert comebacks.tell(row(500, 10), before, [before]).sure.startswith("No, fewer")
    told = comebacks.tell(row(500, 50), before, [before])
    assert told.sure.startswith("No sign of it")
    assert "chance" in told.undecided


def test_a_month_is_known_when_each_of_its_fixes_was_followed_all_days():
    assert comebacks.is_known(row(80, 8))
    assert not comebacks.is_known(row(80, 8, mature=79))


def test_months_that_are_not_yet_known_say_so_in_words(fleet, page):
    chart = page("what-pays").get("vega_lite_chart")[1].proto
    assert "Dec 2025: not yet known" in chart.alt
    assert any(layer["mark"]["type"] == "rect" for layer in json.loads(chart.spec)["layer"])


def test_three_procedures_at_a_time_and_the_undecided_folded_away(fleet, page):
    at = page("what-does-not-hold")
    shown = at.get("vega_lite_chart")[0].proto.alt
    assert shown.count("would be usual") == 1 + holding.AT_ONCE  # the answer names the first
    labels = [expander.label for expander in at.expander]
    assert sum(label.endswith("what to know of it") for label in labels) == 3
    assert "2 procedures of which it cannot be told" in labels
    assert "1 procedure more that comes back more often" in labels
    assert "For 2 of 7 procedures it cannot be told." in answers(at)[0]


def test_without_a_worse_procedure_nobody_is_accused():
    told = holding.tell([], [row(30, 3)], 1)
    assert told == Told(
        "No procedure comes back more often than others of its kind, as far as can be told.",
        "For 1 of 1 procedure it cannot be told.",
    )


def test_too_few_for_a_figure_gives_the_range_and_no_percentage(fleet):
    rows = fleet.ask("wrong-part", by=("symptom", "part_no", "action")).rows
    seen = sorted((found for found in rows if found["numerator"]), key=lambda found: -found["low"])
    said = wrong_parts.tell(seen, rows).sure
    assert "9 of 9; too few for a figure, likely between 7 and 10 in every 10" in said
    assert "%" not in said


def test_a_fix_after_which_another_part_was_seen_twice_is_not_named(fleet, page, monkeypatch):
    asking = type(fleet).ask

    def ask(self, measure, **question):
        frame = asking(self, measure, **question).frame
        return data.Answer(frame.with_columns(numerator=2.0) if measure == "wrong-part" else frame)

    monkeypatch.setattr(type(fleet), "ask", ask)
    told = next(body for body in answers(page("what-does-not-hold")) if "Seen" in body)
    assert "after no kind of fix 3 times or more" in told
    assert "flow meter" not in told


def test_hours_by_kind_are_the_measures_own(fleet):
    total = fleet.ask("unpaid-hours", by=()).rows[0]
    kinds = {found["label"]: found for found in unpaid.kinds_of(total)}
    assert kinds["returns under our own guarantee"]["value"] == total["hours_own_guarantee"]
    assert kinds["nobody in"]["value"] is None
    assert "nobody in" in unpaid.tell(total, list(kinds.values())).undecided


def test_with_and_without_a_check_is_never_called_proof(fleet, page):
    at = page("what-does-not-hold")
    told = next(body for body in answers(at) if "the test run in" in body)
    assert "cannot be told from this" in told
    assert "92 of 198" in told


def test_a_log_without_checks_says_which_fields_it_lacks(fleet, monkeypatch):
    asking = type(fleet).ask

    def ask(self, measure, **question):
        frame = asking(self, measure, **question).frame
        silent = [name for name in checks.CHECKS if name in frame.columns]
        return data.Answer(frame.with_columns(**dict.fromkeys(silent)))

    monkeypatch.setattr(type(fleet), "ask", ask)
    assert checks.refusal(fleet, None) == checks.NOT_RECORDED


def at_the_machine(page, words, kind=None, **more):
    at = page("at-the-machine")
    if kind:
        at.session_state[what_is_wrong.KIND] = kind
    for key, value in more.items():
        at.session_state[key] = value
    return at.text_input[0].set_value(words).run()


def test_an_empty_screen_offers_what_is_seen_most_often(fleet, page):
    at = page("at-the-machine")
    assert asked(at) == ["What does the customer see?"]
    assert cautions.FIRST in texts(at)
    assert not answers(at)


def test_technician_reads_parts_and_causes_first_and_actions_beneath(fleet, page):
    at = at_the_machine(page, "it is not draining", "dishwasher")
    assert not at.exception
    assert asked(at) == ["It is not draining"]
    assert "dishwasher · any model · no code · read as not draining" in texts(at)
    assert answers(at)[0] == '<p class="answer">15 of 20 like this: the drain pump.</p>'
    items = listed(at, "What fixed it")
    assert [name for name, _ in items] == [
        "Drain pump DP-1107 · 15 of 20",
        "Outside the machine: drain run without a rise · 4 of 20",
        "Control board CB-9001 · 1 of 20",
    ]
    assert items[0][1].startswith(
        "new one fitted 9 of 20 (likely between 3 and 7 in every 10), 35 min; cleaned 6 of 20"
    )
    assert "%" not in "".join(told for _, told in items)
    assert (
        "4 of them not yet followed for 90 days; something else: about 1 in 11; 2 more do not say"
        in texts(at)
    )


def listed(at, which):
    """Items of the numbered list of checks, or of the plain list of fixes."""
    wanted = '<ol class="fixes plain">' if which == "What fixed it" else '<ol class="fixes">'
    found = [body for body in bodies(at) if body.startswith(wanted)]
    return re.findall("<li><span>(.*?)</span><small>(.*?)</small></li>", "".join(found))


def test_checks_stand_in_order_with_safety_and_the_installation_in_front(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    steps = listed(at, "checks")
    assert steps[0][0].startswith("Isolate")
    assert steps[1][0].startswith("Look at the installation")
    assert "4 of 20 were outside the machine" in steps[1][1]
    assert steps[2][0].startswith("Drain pump: ")
    assert "15 of 20" in steps[2][1]
    assert "assumptions" in texts(at)


def test_minutes_from_the_log_stand_with_the_checks_they_come_from_beside_assumed_ones(fleet, page):
    recorded = Recorded((6.0, 7.0, 9.0), (10, 14, 10), jobs=30)
    fleet.checks = replace(fleet.checks, recorded={("dishwasher", "drain pump"): recorded})
    at = at_the_machine(page, "not draining", "dishwasher")
    steps = listed(at, "checks")
    (pump,) = [said for name, said in steps if name.startswith("Drain pump: ")]
    assert pump.startswith("7 min from 34 checks in the log")
    assert not any("in the log" in said for name, said in steps if not name.startswith("Drain pump"))
    assert f"Minutes of {len(steps) - 1} of {len(steps)} steps are assumptions" in texts(at)
    assert f"Minutes of 1 of {len(steps)} steps are the middle of those in the log." in texts(at)


def test_what_was_checked_and_found_good_leaves_the_order(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    at.session_state["machine_missed ('not draining',) dishwasher None None"] = ["drain pump"]
    steps = listed(at.run(), "checks")
    assert not any(name.startswith("Drain pump") for name, _ in steps)
    assert "now about" in steps[-1][1]


def test_what_to_bring_says_where_it_lies_once_the_van_is_known(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    assert "1 × drain pump DP-1107" in texts(at)
    assert "then enough for about 9 in 10 such jobs (likely 8 to 10) · 4 in the stores" in texts(at)
    assert "Book 51 min on the machine" in texts(at)
    at.session_state["machine_van"] = "van 2"
    assert "van 2 as it is: enough for about 5 in 10 such jobs" in texts(at.run())
    assert "put in 1 × drain pump" in texts(at)


def test_a_part_on_the_van_settles_a_doubtful_check(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    assert not any("Still in doubt?" in name for name, _ in listed(at, "checks"))
    at.session_state["machine_already ('not draining',) dishwasher None None"] = ["part on the van"]
    steps = [name for name, _ in listed(at.run(), "checks")]
    assert steps.index(
        "Drain pump: Filter out, look into the sump: something caught? Does the impeller turn?"
    ) < next(place for place, name in enumerate(steps) if "Still in doubt?" in name)


def test_booked_calls_stand_with_their_answers_and_no_name(fleet, page):
    at = page("at-the-machine")
    labels = [button.label.replace("\\", "") for button in at.button]
    assert labels[0] == "**09:00 · dishwasher Q40 · not draining · J-77**  \nDrain pump, 15 of 20"
    assert "Make safe and stop" in labels[1]
    assert "pump" not in labels[1]
    fleet.books = False
    assert not page("at-the-machine").button


def test_a_call_that_is_tapped_brings_its_machine_before_it(fleet, page):
    at = page("at-the-machine").button[0].click().run()
    assert not at.exception
    assert asked(at) == ["Not draining"]
    shown = texts(at)
    assert "dishwasher · Q40 · no code" in shown
    for first in (
        "A danger.",
        "A notice.",
        "Guarantee open to 2026-04-05",
        "drain run without a rise. Look there first",
    ):
        assert shown.index(first) < shown.index("Too few to say")
    assert shown.index("A notice.") < shown.index(cautions.FIRST) < shown.index("Guarantee open to")
    assert "5 Jan 2026 · not draining" in shown
    # Another kind of machine is another machine.
    at.session_state[what_is_wrong.KIND] = "washer"
    assert "This machine before" not in texts(at.run())


def test_the_number_of_a_job_can_be_typed(fleet, page):
    assert "Guarantee open to" in texts(at_the_machine(page, "j-77"))


def test_free_or_replace_is_told_side_by_side_with_what_pays_the_owner(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    shown = texts(at)
    assert "back within 90 days" in shown
    assert "Drain pump." in shown


def test_a_log_of_texts_and_outcomes_says_which_faults_are_fixed_and_what_stops_the_rest(fleet, page):
    at = at_the_machine(page, "noisy", "dishwasher")
    shown = re.sub(r"\s", " ", texts(at))
    assert "Noisy: fixed in 48 of 92, that is 52 % (likely 42 to 62 %)." in shown
    assert "What stopped the rest." in shown
    assert "3,680 jobs not fixed (dishwasher, noisy)" in shown
    alts = [re.sub(r"\s", " ", chart.proto.alt) for chart in at.get("vega_lite_chart")]
    assert "Noisy: 52 % · 48 of 92; Not draining: 74 % · 137 of 186." in alts[0]
    # Before anything is typed, where the log names no work at all: the kind is enough.
    fleet.works = False
    at = page("at-the-machine")
    at.session_state[what_is_wrong.KIND] = "dishwasher"
    shown = texts(at.run())
    assert "Fixed most surely: not draining" in shown
    assert "not filling" not in shown.split("Lines:")[0].split("Fixed most surely")[1]


def test_how_good_the_answers_are_is_a_page_of_its_own_that_the_technician_can_reach(fleet, page):
    assert 'href="/how-good-the-answers-are"' in texts(at_the_machine(page, "not draining", "dishwasher"))
    at = page("how-good-the-answers-are")
    assert not at.exception
    assert "In 300 of 400 (75" in answers(at)[0]
    assert "finds it 10 minutes sooner than going by what is commonest on the kind" in answers(at)[0]
    assert "Plain counts of symptom and kind are as often right" in answers(at)[0]
    shown = texts(at)
    assert "this answer: 14.0 (13.0 to 15.0); plain counts: 14.5 (13.5 to 15.5)" in shown
    assert "0 to 10" in shown


def test_model_gives_its_own_counts_before_those_of_the_kind(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher", **{what_is_wrong.MODEL: "Q40"})
    assert "Drain pump DP-1107 · 7 of 9 (model Q40) · 15 of 20 (dishwasher)" in texts(at)
    assert "Too few to say: 9 jobs like this ended fixed and held so far (model Q40)." in answers(at)[0]


def test_words_that_are_not_read_get_the_nearest_to_tap(fleet, page):
    at = at_the_machine(page, "xyz", "dishwasher")
    assert machine_page.NOT_READ in answers(at)[0]
    assert "<li>" not in texts(at)


def test_what_cannot_be_said_of_fixes_is_said_in_its_place(fleet, page):
    at = at_the_machine(page, "noisy", "dishwasher")
    assert not at.exception
    assert "No job with noisy ended fixed" in answers(at)[0]


def test_where_no_machine_can_be_followed_the_fold_says_so(fleet, page):
    sentence = "The log gives its machines no identity, so nobody can say whether a machine came back."
    fleet.refused = {"repeat-visits": sentence}
    opened = {f"{such_jobs.HOLDS} dishwasher not draining": True}
    at = at_the_machine(page, "not draining", "dishwasher", **opened)
    assert not at.exception
    assert sentence in texts(at)
    assert not at.get("vega_lite_chart")


def test_the_chart_of_what_held_is_drawn_when_its_fold_is_opened(fleet, page):
    closed = at_the_machine(page, "not draining", "dishwasher")
    assert such_jobs.FOLD in [fold.label for fold in closed.expander]
    assert not closed.get("vega_lite_chart")
    # Nothing is asked before: over a big log that took most of the wait for the answer.
    assert all(
        question.get("only") and len(question["only"]) == 3
        for name, question in fleet.asked
        if name == "repeat-visits"
    )
    opened = at_the_machine(
        page, "not draining", "dishwasher", **{f"{such_jobs.HOLDS} dishwasher not draining": True}
    )
    assert not opened.exception
    drawn = opened.get("vega_lite_chart")
    assert drawn
    assert all("back with the same fault within 90 days" in chart.proto.alt for chart in drawn)


def test_cautions_of_the_machine_stand_above_the_answer(fleet, page):
    at = at_the_machine(page, "not draining", "dishwasher")
    order = [body for body in bodies(at) if "caution" in body.split(">")[0] or 'class="answer"' in body]
    assert cautions.FIRST in order[0]
    assert cautions.WATER in order[0]
    assert 'class="answer"' in order[1]
    # By what may be it and what may be done: a pump, a board, cleaning, a drain run put right.
    for caution in (cautions.SHARP, cautions.STORED, cautions.CAUSTIC, cautions.INSTALLING, cautions.AFTER):
        assert caution in order[0]


@pytest.mark.parametrize("kind", [None, "dishwasher"])
def test_a_danger_stops_the_page_and_shows_no_likely_part(fleet, page, kind):
    at = at_the_machine(page, "not draining, smell of burning", kind)
    assert not at.exception
    shown = texts(at)
    assert cautions.STOP["burning smell"] in shown
    assert 'role="alert"' in shown
    assert cautions.AFTER_STOP in shown
    assert not at.get("vega_lite_chart")
    assert "drain pump" not in shown


def test_cut_outs_replaced_without_a_cause_are_the_trainers_matter(fleet, page):
    fleet.first = Pinned(cut_outs=56)
    assert "56 jobs replaced a thermal cut-out" in texts(page("what-does-not-hold"))
    assert "thermal cut-out" not in texts(page("what-pays"))


def test_each_page_of_a_reader_runs_on_the_sample_with_its_own_numbers(
    sample_store, sample, page, monkeypatch
):
    from dashboards import STORE_VARIABLE
    from pipeline.measures import evaluate

    monkeypatch.setenv(STORE_VARIABLE, str(sample_store))
    shown = {path: page(path) for path in ("what-pays", "what-does-not-hold", "at-the-machine")}
    assert not any(at.exception for at in shown.values())
    first = evaluate(sample, "first-visit").row(0, named=True)
    assert words.counts_of(first) in answers(shown["what-pays"])[4]
    banded = evaluate(sample, "procedures")
    worse = banded.filter(banded["band"] == "worse").height
    assert answers(shown["what-does-not-hold"])[0].startswith(
        f'<p class="answer">{worse} procedures come back more'
    )
    assert "safety report" in texts(shown["at-the-machine"])
    assert blocks.INVENTED in texts(shown["what-pays"])
