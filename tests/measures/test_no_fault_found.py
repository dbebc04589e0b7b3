"""no-fault-found on logs small enough to count by eye, and on the sample whose numbers are planted."""

from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from pipeline.measures.words import headline_words
from tests.builds import built

HEADER = "job_id | unit_id | unit_type | reported_at | finished_at | outcome | symptom | finding | action"
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 7, 1))


def row(job, outcome, on="2026-01-05", *, unit="", symptom="noisy", finding="", action=""):
    return f"{job} | {unit or job} | washer | {on} | {on} | {outcome} | {symptom} | {finding} | {action}"


def answer(*rows, question=WINDOW):
    return evaluate(built("\n".join([HEADER, *rows])), "no-fault-found", question).row(0, named=True)


def test_share_is_over_the_attended_jobs():
    found = answer(
        row("A", "no fault found"), row("B", "fixed"), row("C", "no access"), row("D", "cancelled")
    )
    assert (found["numerator"], found["denominator"]) == (1, 2)


def test_last_attended_visit_decides():
    found = answer(
        row("A", "no fault found"), row("A", "fixed", "2026-01-20"), row("B", "no fault found", "2026-01-20")
    )
    assert (found["numerator"], found["denominator"]) == (1, 2)


@pytest.mark.parametrize("action", ["correct installation", "advise"])
def test_a_cause_outside_the_machine_is_a_finding(action):
    outside = row("A", "no fault found", finding="tap part closed", action=action)
    inside = row("B", "no fault found", finding="no fault found", action="inspect")
    found = answer(outside, inside)
    assert (found["numerator"], found["denominator"]) == (1, 2)


def test_repeats_of_those_jobs_stand_beside_the_share():
    rows = [row(f"N{at}", "no fault found") for at in range(40)]
    back = [row("R1", "fixed", "2026-02-04", unit="N1"), row("R2", "fixed", "2026-02-05", unit="N2")]
    found = answer(*rows, *back)
    # Day 30 counts and day 31 does not.
    assert (found["numerator_repeat"], found["denominator_repeat"]) == (1, 40)
    assert found["value_repeat"] == pytest.approx(1 / 40)


def test_another_fault_is_a_repeat_but_not_of_the_same_fault():
    rows = [row(f"N{at}", "no fault found") for at in range(40)]
    rows += [row("R", "fixed", "2026-01-20", unit="N1", symptom="not heating")]
    same = Question(from_at=WINDOW.from_at, complete_to=WINDOW.complete_to, kind="same-fault")
    assert answer(*rows)["numerator_repeat"] == 1
    assert answer(*rows, question=same)["numerator_repeat"] == 0


def test_machines_that_nobody_can_follow_are_said():
    found = evaluate(
        built(
            "job_id | unit_type | reported_at | finished_at | outcome\nA | washer | 2026-01-05 | 2026-01-05 | no fault found"
        ),
        "no-fault-found",
        WINDOW,
    ).row(0, named=True)
    assert (found["denominator_repeat"], found["value_repeat"], found["sample_repeat"]) == (
        0,
        None,
        "too few",
    )
    assert "1 without a known machine" in found["note"]


def test_a_log_that_never_says_so_is_refused_and_not_called_free_of_it():
    with pytest.raises(CannotAnswerError, match="never has"):
        answer(row("A", "fixed"), row("B", "beyond economic repair"))


def test_every_planted_job_without_a_fault_is_counted(sample):
    question = Question(complete_to=datetime(2026, 4, 1))
    # 262 stand in the description of the sample.
    assert evaluate(sample, "no-fault-found", question)["numerator"].item() == 262


def test_true_share_back_lies_in_the_interval_of_the_sample(sample):
    from sample_logs.returns import return_probabilities
    from sample_logs.simulate import committed_firm

    jobs = [job for job in committed_firm().jobs if job.course and job.course.kind == "no fault found"]
    true = sum(return_probabilities(job, 30)[1] for job in jobs) / len(jobs)
    found = evaluate(sample, "no-fault-found", Question(level=0.999)).row(0, named=True)
    assert found["low_repeat"] <= true <= found["high_repeat"]


def test_words_say_both_shares(sample):
    said = headline_words("no-fault-found", evaluate(sample, "no-fault-found"))
    assert "no fault was found in about" in said
    assert "reported again within 30 days" in said
