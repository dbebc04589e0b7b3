"""What a trainer reads and writes down: counts, the undecided as such, nobody's name."""

from dataclasses import replace

from fake_trainer import DETAIL, procedures, took

from dashboards.questions import changed, passed_on, reasons, teach
from dashboards.questions.procedure_told import points
from dashboards.questions.teaching_sheet import sheet_of, worst_symptom
from dashboards.questions.took import tell
from pipeline.training.house_notes import HouseNote
from pipeline.training.taught import Taught
from pipeline.vocabulary import cautions

PUMP = procedures({})[0]
LESSON = Taught("2025-11-03", "dishwasher", "DP-1107", "drain pump", "replace")


def test_what_a_trainer_needs_of_a_procedure_in_counts():
    told = dict(points(PUMP, DETAIL))
    assert told["Which symptoms"] == "not draining: 14 of 52 came back; smell: 12 of 54 came back"
    assert told["When"] == "half of the returns within 9 days; 3 of 7 in the first week"
    assert "test run in 88 of 106 (19 of those came back, 7 of the other 18)" in told["Was it recorded?"]
    assert "leak check in 0 of 106;" in told["Was it recorded?"]
    assert "no proof" in told["Was it recorded?"]
    assert told["Minutes"].startswith("half took up to 44 min")
    assert told["Do all do it alike?"].startswith("no: returns differ")


def test_a_flag_explained_by_another_part_says_so():
    board = procedures({})[1]
    assert "the diagnosis, rather than the fix" in dict(points(board, DETAIL))["Was it another part?"]
    assert "diagnosis" not in dict(points(PUMP, DETAIL))["Was it another part?"]


def test_lesson_is_not_judged_before_its_day():
    told = tell(LESSON, took())
    assert told.undecided == "Not yet known until 1 Jun 2026."
    assert "20 of 80 came back before, 2 of 26 since 3 Nov 2025" in told.sure
    assert tell(LESSON, took("holds better")).sure.endswith("(likely 0.1 to 0.9 times as many as before).")
    assert "cannot be told" in tell(LESSON, took("cannot tell")).undecided


def test_lesson_is_shown_with_the_warning(fleet, page):
    fleet.book.lessons.append(LESSON)
    at = page("what-does-not-hold")
    shown = "\n".join(found.proto.body for found in at.get("html"))
    assert "Not yet known until 1 Jun 2026." in shown
    assert "gets better untouched" in shown


def test_what_to_teach_names_the_surest_saving():
    rows = [{**PUMP, "avoidable": 6.3, "avoidable_low": 3.6, "avoidable_high": 10.1, "hours": None}]
    assert "6.3 returns a year more than usual, likely 3.6 to 10" in teach.tell(rows, None).sure
    assert "not recorded" in teach.tell(rows, None).undecided
    assert teach.tell([], None).sure == "Nothing stands out."


def test_sheet_has_cautions_first_and_prints_by_itself(fleet):
    text = sheet_of(fleet, PUMP).decode()
    assert text.index(cautions.FIRST) < text.index("What goes wrong") < text.index("Check in this order")
    assert "What holds" in text
    assert "Before you leave" in text
    assert "26 of 106 came back" in text
    assert not any(mark in text for mark in ("http://", "https://", "<script", "src="))


def test_sheet_for_a_danger_names_no_part(fleet):
    symptoms = (replace(DETAIL.symptoms[0], name="smell of burning", back=20),)
    fleet.book.detail = lambda row: replace(DETAIL, symptoms=symptoms)
    text = sheet_of(fleet, PUMP).decode()
    assert "What holds" not in text
    assert "Check in this order" not in text


def test_worst_symptom_is_that_of_most_returns():
    assert worst_symptom(DETAIL) == "not draining"
    assert worst_symptom(replace(DETAIL, symptoms=())) == ""


def test_change_is_told_with_the_false_alarms_to_expect(fleet):
    rows = fleet.ask("changes").rows
    told = changed.tell([row for row in rows if row["band"] == "worth a look"], rows)
    assert told.sure.startswith(
        "Two are worth a look. Most surely Dishwasher: door seal, breakdowns: 38 since 23 Dec 2024"
    )
    assert told.undecided.startswith("About 1 false alarm a year")
    assert changed.label(rows[2]) == "Q40, door seal: machines made 20 Jul 2020 to 13 Sep 2020"


def test_lot_of_serials_is_named_by_its_days_and_by_jobs_and_told_once(fleet):
    lot = fleet.ask("changes").rows[2]
    block = {**lot, "watched": "serial block", "serial_blocks": 2, "job_ids": "J12, J40", "low": 1.2}
    assert (
        changed.label(block)
        == "Q40, door seal: two blocks of serials, made or installed 20 Jul 2020 to 13 Sep 2020"
    )
    assert changed.once([lot, block]) == [lot]
    assert changed.once([block, lot]) == [block]
    elsewhere = {**block, "model": "Q41"}
    assert changed.once([lot, elsewhere]) == [lot, elsewhere]
    assert "your own files on jobs J12, J40." in changed.what_next([block])


def test_one_tick_keeps_a_reason(fleet, page):
    at = page("what-does-not-hold")
    assert reasons.tell(fleet.book.awaiting()).sure == "7 comebacks without a reason. The newest 5 are shown."
    ticks = next(found for found in at.get("button_group") if found.key == "reason r0-2")
    ticks.set_value(["wrong diagnosis"] if isinstance(ticks.value, list) else "wrong diagnosis")
    next(button for button in at.button if button.label == "Keep the answers").click().run()
    assert not at.exception
    assert fleet.book.kept == {"r0-2": "wrong diagnosis"}
    assert any(button.label == "Build again now" for button in at.button)


def test_note_is_shown_at_the_machine_only_after_approval(fleet, page):
    fleet.book.written.append(
        HouseNote("2026-02-01", "dishwasher", "", "", "Look behind the sump before you order.")
    )
    at = page("what-does-not-hold")
    assert "1 waits for approval." in "".join(found.proto.body for found in at.get("html"))
    assert not fleet.house_notes("dishwasher", None, ())
    next(button for button in at.button if button.label == "Approve").click().run()
    assert not at.exception
    assert [note.text for note in fleet.house_notes("dishwasher", None, ())] == [
        "Look behind the sump before you order."
    ]
    assert passed_on.concerns(fleet.book.written[0]) == "dishwasher · any symptom · 1 Feb 2026"


def test_nobody_is_named_on_the_page(fleet, page):
    at = page("what-does-not-hold")
    assert not any(
        "technician" in question.get("by", ()) or question.get("people") for _, question in fleet.asked
    )
    assert not at.exception
