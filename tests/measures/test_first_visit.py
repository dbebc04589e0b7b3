"""first-visit on logs small enough to count by eye: what is in, what is out, and what strict asks besides."""

from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from pipeline.measures.words import headline_words
from tests.builds import built

HEADER = (
    "job_id | visit_no | unit_id | unit_type | reported_at | started_at | finished_at | outcome | symptom"
)
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 7, 1))


def row(job, outcome, on="2026-01-05", *, visit=1, unit="", symptom="noisy"):
    finished = "" if outcome == "open" else on
    return f"{job} | {visit} | {unit or job} | washer | {on} | {on} | {finished} | {outcome} | {symptom}"


def answer(*rows, question=WINDOW):
    con = built("\n".join([HEADER, *rows]))
    return evaluate(con, "first-visit", question).row(0, named=True)


def repeated(n, outcome="fixed"):
    return [row(f"{outcome} {at}", outcome) for at in range(n)]


def test_outcomes_that_needed_no_fix_from_us_are_left_out():
    outcomes = ("no fault found", "quote declined", "beyond economic repair", "referred", "unknown")
    found = answer(row("A", "fixed"), *(row(outcome, outcome) for outcome in outcomes))
    assert (found["numerator"], found["denominator"], found["left_out"]) == (1, 1, len(outcomes))


def test_temporary_and_whatever_was_left_to_do_is_not_done():
    outcomes = ("temporary", "return booked", "awaiting customer", "not finished", "advised", "made safe")
    found = answer(row("A", "fixed"), *(row(outcome, outcome) for outcome in outcomes))
    assert (found["numerator"], found["denominator"]) == (1, 1 + len(outcomes))


def test_a_visit_that_reached_nobody_is_no_first_visit():
    found = answer(
        row("A", "no access", "2026-01-05"),
        row("A", "fixed", "2026-01-08", visit=2),
        row("B", "cancelled"),
    )
    assert (found["numerator"], found["denominator"], found["left_out"]) == (1, 1, 0)


def test_failed_first_visit_counts_now_though_the_job_is_open():
    found = answer(row("A", "return booked"), row("B", "fixed"))
    assert (found["numerator"], found["denominator"]) == (1, 2)
    later = answer(row("A", "return booked"), row("A", "fixed", "2026-01-20", visit=2), row("B", "fixed"))
    assert (later["numerator"], later["denominator"]) == (1, 2)


def test_a_job_belongs_to_the_day_of_its_first_visit():
    rows = [
        row("A", "return booked", "2026-01-31"),
        row("A", "fixed", "2026-02-10", visit=2),
        row("B", "fixed", "2026-02-02"),
    ]
    february = Question(from_at=datetime(2026, 2, 1), complete_to=datetime(2026, 3, 1))
    assert answer(*rows, question=february)["denominator"] == 1


def test_only_faults_count():
    con = built(
        "job_id | job_kind | unit_type | reported_at | finished_at | outcome\n"
        "A | planned service | washer | 2026-01-05 | 2026-01-05 | fixed\n"
        "B | workshop | washer | 2026-01-05 | 2026-01-05 | fixed\n"
        "C | | washer | 2026-01-05 | 2026-01-05 | fixed"
    )
    assert evaluate(con, "first-visit", WINDOW)["denominator"].item() == 2


def test_same_fault_back_within_the_days_is_not_strictly_done():
    rows = repeated(18)
    back = [row("A", "fixed", unit="u"), row("B", "fixed", "2026-02-04", unit="u")]
    other = [*back[:1], row("B", "fixed", "2026-02-04", unit="u", symptom="not heating")]
    late = [*back[:1], row("B", "fixed", "2026-02-05", unit="u")]
    assert answer(*rows, *back)["value_strict"] == pytest.approx(19 / 20)
    assert answer(*rows, *other)["value_strict"] == pytest.approx(1)
    assert answer(*rows, *late)["value_strict"] == pytest.approx(1)
    assert answer(*rows, *back)["value"] == 1


def test_second_attendance_of_the_same_job_is_not_strictly_done():
    rows = [*repeated(19), row("A", "fixed"), row("A", "fixed", "2026-01-20", visit=2)]
    found = answer(*rows)
    assert found["value"] == 1
    assert found["value_strict"] == pytest.approx(19 / 20)


def test_fixes_not_followed_long_enough_are_weighted_and_not_counted_as_good():
    # Forty early ones, of which one came back; ten late ones that nobody could follow: 1 - 1/40 for all of them.
    early = [
        *(row(f"E{at}", "fixed") for at in range(40)),
        row("back", "return booked", "2026-01-15", unit="E0"),
    ]
    late = [row(f"L{at}", "fixed", "2026-06-30") for at in range(10)]
    found = answer(*early, *late)
    assert (found["numerator"], found["denominator"]) == (50, 51)
    assert found["value_strict"] == pytest.approx(50 / 51 * (1 - 1 / 40))


def test_where_no_machine_can_be_followed_the_strict_share_has_no_value():
    rows = [
        f"J{at} | washer | 2026-01-05 | 2026-01-05 | 2026-01-05 | {outcome}"
        for at, outcome in enumerate(["fixed"] * 30 + ["return booked"] * 10)
    ]
    con = built("job_id | unit_type | reported_at | started_at | finished_at | outcome\n" + "\n".join(rows))
    found = evaluate(con, "first-visit", WINDOW).row(0, named=True)
    assert found["value"] == pytest.approx(30 / 40)
    assert (found["value_strict"], found["sample_strict"]) == (None, "too few")
    assert "30 of them could not be followed" in found["note"]


def test_a_log_without_outcomes_or_without_days_is_refused():
    for header, cells, missing in (
        ("started_at | finished_at", "2026-01-05 | 2026-01-05", "outcome"),
        ("outcome", "fixed", "started_at or finished_at"),
    ):
        con = built(f"job_id | unit_type | reported_at | {header}\nA | washer | 2026-01-05 | {cells}")
        with pytest.raises(CannotAnswerError, match=missing):
            evaluate(con, "first-visit", WINDOW)


def test_sample_finds_second_visits_where_they_were_planted(sample):
    result = evaluate(sample, "first-visit", Question(by=("unit_type",)))
    found = {row["unit_type"]: row for row in result.iter_rows(named=True)}
    everything = evaluate(sample, "first-visit").row(0, named=True)
    assert sum(row["denominator"] for row in found.values()) == everything["denominator"]
    # No job is done better by a first visit than it is fixed at all, and strict is never more than plain.
    assert all(row["value_strict"] <= row["value"] for row in found.values())


def test_words_say_the_share_and_whether_it_held(sample):
    said = headline_words("first-visit", evaluate(sample, "first-visit"))
    assert "ended with the machine working" in said
    assert "held for 30 days" in said
