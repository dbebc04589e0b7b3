"""wrong-part on logs small enough to count by eye, and on the sample whose wrong diagnoses are planted."""

import math
from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from pipeline.measures.words import headline_words
from tests.builds import built

HEADER = "job_id | unit_id | unit_type | reported_at | finished_at | outcome | symptom | part_no | action"
BY = ("part_no", "action")
WINDOW = Question(by=BY, from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 7, 1))


def row(job, part, on="2026-01-05", *, unit="U", outcome="fixed", symptom="noisy", action="replace"):
    return f"{job} | {unit} | washer | {on} | {on} | {outcome} | {symptom} | {part} | {action}"


def counts(*rows):
    result = evaluate(built("\n".join([HEADER, *rows])), "wrong-part", WINDOW)
    return {r["part_no"]: (r["numerator"], r["denominator"]) for r in result.iter_rows(named=True)}


def test_same_symptom_cured_by_another_part_says_that_the_first_was_wrong():
    assert counts(row("A", "BOARD"), row("B", "HEATER", "2026-01-20")) == {"BOARD": (1, 1), "HEATER": (0, 1)}


def test_day_thirty_counts_and_day_thirty_one_does_not():
    assert counts(row("A", "BOARD"), row("B", "HEATER", "2026-02-04"))["BOARD"] == (1, 1)
    assert counts(row("A", "BOARD"), row("B", "HEATER", "2026-02-05"))["BOARD"] == (0, 1)


@pytest.mark.parametrize(
    "later",
    [
        row("B", "BOARD", "2026-01-20"),
        row("B", "HEATER", "2026-01-20", symptom="not heating"),
        row("B", "HEATER", "2026-01-20", outcome="return booked"),
        row("B", "HEATER", "2026-01-20", unit="other"),
        row("B", "", "2026-01-20", action="inspect"),
    ],
    ids=["same part", "other symptom", "not cured", "other machine", "no part"],
)
def test_what_is_no_cure_by_another_part(later):
    assert counts(row("A", "BOARD"), later)["BOARD"][0] == 0


def test_a_later_fix_that_works_on_the_same_part_too_leaves_it_unproven():
    again = [row("B", "HEATER", "2026-01-20"), row("B", "BOARD", "2026-01-20")]
    assert counts(row("A", "BOARD"), *again)["BOARD"][0] == 0


def test_only_fixes_are_asked_about():
    assert counts(row("A", "BOARD", outcome="temporary"), row("B", "HEATER", "2026-01-20")) == {
        "HEATER": (0, 1)
    }


def test_a_fix_without_symptom_is_left_out_and_said():
    con = built("\n".join([HEADER, row("A", "BOARD", symptom=""), row("B", "BOARD", unit="V")]))
    found = evaluate(con, "wrong-part", WINDOW).row(0, named=True)
    assert found["denominator"] == 1
    assert "without a known machine or symptom: 1" in found["note"]


@pytest.mark.parametrize(
    ("header", "cells", "missing"),
    [
        ("unit_id | symptom", "U | noisy", "no part"),
        ("symptom | part_no | action", "noisy | BOARD | replace", "no identity"),
        ("unit_id | part_no | action", "U | BOARD | replace", "no symptom"),
    ],
)
def test_what_the_log_cannot_answer_is_refused(header, cells, missing):
    con = built(
        f"job_id | unit_type | reported_at | finished_at | outcome | {header}\n"
        f"A | washer | 2026-01-05 | 2026-01-05 | fixed | {cells}"
    )
    with pytest.raises(CannotAnswerError, match=missing):
        evaluate(con, "wrong-part", WINDOW)


@pytest.mark.parametrize("board", ["CB-9001", "CB-9002"])
def test_planted_wrong_boards_lie_in_the_interval_of_the_sample(sample, board):
    from sample_logs import planted
    from sample_logs.simulate import committed_firm

    courses = [job.course for job in committed_firm().jobs if job.course and job.course.kind == "fixed"]
    blamed = [course for course in courses if board in {work.part_no for work in course.works}]
    probability, mean_days = planted.WRONG_RETURNS
    true = (
        sum(course.wrong for course in blamed) / len(blamed) * probability * (1 - math.exp(-30 / mean_days))
    )
    result = evaluate(sample, "wrong-part", Question(by=("part_no",), level=0.999))
    (found,) = (r for r in result.iter_rows(named=True) if r["part_no"] == board)
    assert true > 0.1
    assert found["low"] <= true <= found["high"]


def test_the_boards_stand_out_in_the_sample(sample):
    result = evaluate(sample, "wrong-part", Question(by=("part_no",)))
    worst = result.sort("low", descending=True)["part_no"].to_list()
    assert set(worst[:2]) == {"CB-9001", "CB-9002"}


def test_words_say_which_fix_it_was(sample):
    said = headline_words("wrong-part", evaluate(sample, "wrong-part", Question(by=("part_no", "action"))))
    assert "a new control board" in said
    assert "another part cured the same symptom within 30 days" in said
