"""second-visits on logs small enough to count by eye."""

from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures import Question, evaluate
from pipeline.measures.words import headline_words
from tests.builds import built

HEADER = "job_id | visit_no | unit_type | reported_at | finished_at | outcome | second_visit_reason | part_name | part_status"
WINDOW = {"from_at": datetime(2026, 1, 1), "complete_to": datetime(2026, 7, 1)}


def row(job, visit, outcome, on="2026-01-05", *, reason="", part="", status=""):
    return f"{job} | {visit} | washer | 2026-01-05 | {on} | {outcome} | {reason} | {part} | {status}"


def answer(*rows, by=()):
    found = evaluate(built("\n".join([HEADER, *rows])), "second-visits", Question(by=by, **WINDOW))
    return found.to_dicts()


WAITED = (
    row("A", 1, "return booked", reason="part not on van", part="drain pump", status="ordered"),
    row("A", 2, "fixed", "2026-01-12", part="drain pump"),
)


def test_reasons_are_a_share_of_the_jobs_that_the_first_visit_did_not_end():
    found = answer(*WAITED, row("B", 1, "fixed"), row("C", 1, "return booked"), row("D", 1, "no fault found"))
    assert {r["second_visit_reason"]: (r["numerator"], r["denominator"]) for r in found} == {
        "part not on van": (1, 2),
        None: (1, 2),
    }


def test_days_run_from_the_first_visit_to_the_finish():
    found = answer(*WAITED)[0]
    assert (found["median_wait_days"], found["waits"]) == (7, 1)


def test_the_missing_part_is_the_one_needed_at_the_first_visit():
    later = row("A", 2, "fixed", "2026-01-12", part="hose", status="ordered")
    found = answer(WAITED[0], later, by=("part_no",))
    assert [(r["part_name"], r["numerator"]) for r in found] == [("drain pump", 1)]


def test_a_log_without_reasons_is_refused_in_a_sentence():
    with pytest.raises(CannotAnswerError, match="second_visit_reason"):
        answer(row("A", 1, "return booked"))


def test_work_done_is_no_group_of_it():
    with pytest.raises(WrongUseError, match="--by cannot be"):
        answer(*WAITED, by=("action",))


def test_in_words_on_the_sample(sample):
    said = headline_words("second-visits", evaluate(sample, "second-visits"))
    assert said.startswith("What most often made a second visit necessary: part not on van, about 88 in 100")
