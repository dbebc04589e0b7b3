"""unpaid-hours on logs small enough to count by eye: whose visits nobody pays for, and what is said of gaps."""

import math
from datetime import datetime

import numpy as np
import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from pipeline.measures.words import headline_words
from tests.builds import built

HEADER = (
    "job_id | visit_no | unit_type | reported_at | started_at | finished_at | hands_on_min | travel_min | charge | payer | "
    "outcome | finding | action"
)
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 7, 1))
PAID = "paid | 1 | washer | 2026-01-05 | 2026-01-05 | 2026-01-05 | 60 | 30 | 90.00 | customer | fixed | |"


def visit(
    outcome, *, job="A", no=1, hands_on="", travel="30", charge="", payer="customer", more="|", start=True
):
    day = "2026-01-05" if start else ""
    finished = day if outcome not in ("no access", "cancelled") else ""
    cells = f"{job} | {no} | washer | 2026-01-05 | {day} | {finished} | {hands_on} | {travel} | {charge} | {payer}"
    return f"{cells} | {outcome} | {more}"


def answer(*rows):
    return evaluate(built("\n".join([HEADER, PAID, *rows])), "unpaid-hours", WINDOW).row(0, named=True)


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        (visit("no access"), "no_access"),
        (visit("cancelled"), "cancelled_at_door"),
        (visit("no fault found", charge="0.00"), "uncharged_no_fault"),
        (visit("no fault found", payer="goodwill"), "uncharged_no_fault"),
        (visit("fixed", charge="0.00", payer="own guarantee"), "own_guarantee"),
        (visit("return booked", payer="own guarantee"), "own_guarantee"),
    ],
)
def test_half_an_hour_that_nobody_pays_for_is_counted_under_its_kind(row, kind):
    found = answer(row)
    assert (found["numerator"], found["denominator"], found["unpaid_jobs"]) == (0.5, 2, 1)
    assert found[f"hours_{kind}"] == pytest.approx(25)


@pytest.mark.parametrize(
    "row",
    [
        visit("no access", charge="40.00"),
        visit("cancelled", travel="", start=False),
        visit("no fault found", charge="48.00"),
        visit("no fault found", charge="0.00", payer="maker warranty"),
        visit("no fault found", charge="0.00", payer="insurer"),
        visit("no fault found", charge="0.00", more="tap part closed | correct installation"),
        visit("fixed", charge="0.00", payer="goodwill"),
        visit("fixed", charge="0.00", payer="customer"),
    ],
    ids=[
        *("charged missed call", "cancelled by telephone", "charged no fault", "claimed from the maker"),
        *("claimed from the insurer", "outside cause", "goodwill fix", "free fix"),
    ],
)
def test_what_is_paid_or_of_another_kind_is_not_counted(row):
    assert answer(row)["numerator"] == 0


def test_hours_are_those_of_the_machine_and_of_the_way():
    found = answer(visit("fixed", hands_on="45", travel="15", payer="own guarantee"))
    assert found["numerator"] == 1


def test_a_visit_counts_once_and_each_visit_of_a_job_counts():
    first = visit("no access", payer="own guarantee")
    second = visit("fixed", no=2, hands_on="30", payer="own guarantee")
    found = answer(first, second)
    assert (found["numerator"], found["unpaid_jobs"]) == (1.5, 1)
    assert (found["hours_no_access"], found["hours_own_guarantee"]) == (pytest.approx(25), pytest.approx(50))


def test_unpaid_visits_without_minutes_are_said_to_be_missing():
    found = answer(visit("no access", travel=""), visit("no access", job="B"))
    assert "1 of 2 unpaid visits have no minutes: a floor" in found["note"]


def test_no_fault_without_a_recorded_charge_is_neither_paid_nor_unpaid():
    found = answer(visit("no fault found", charge=""))
    assert found["numerator"] == 0
    assert "without a recorded charge, not counted: 1" in found["note"]


def test_two_unpaid_jobs_give_no_value_and_no_upper_limit():
    rows = [visit("fixed", job=f"P{at}", charge="80.00") for at in range(40)]
    found = answer(*rows, visit("no access", job="A"), visit("no access", job="B"))
    assert (found["value"], found["sample"], found["low"], found["high"]) == (None, "too few", 0, None)


def test_what_the_log_never_records_is_said():
    rows = [f"{at} | washer | 2026-01-05 | 2026-01-05 | 30 | no access" for at in range(3)]
    con = built("job_id | unit_type | reported_at | started_at | hands_on_min | outcome\n" + "\n".join(rows))
    note = evaluate(con, "unpaid-hours", WINDOW)["note"].item()
    assert all(word in note for word in ("no travel", "no charge", "no payer"))


@pytest.mark.parametrize(
    ("header", "cells", "missing"),
    [("payer | charge", "customer | 0.00", "no minutes"), ("hands_on_min", "30", "neither who pays")],
)
def test_what_the_log_cannot_answer_is_refused(header, cells, missing):
    con = built(
        f"job_id | unit_type | reported_at | finished_at | outcome | {header}\n"
        f"A | washer | 2026-01-05 | 2026-01-05 | fixed | {cells}"
    )
    with pytest.raises(CannotAnswerError, match=missing):
        evaluate(con, "unpaid-hours", WINDOW)


def test_interval_of_the_sample_is_that_of_a_ratio_over_machines(sample):
    from pipeline.measures.unpaid_hours import HOURS
    from pipeline.measures.unpaid_visits import unpaid_jobs
    from pipeline.measures.window import resolve

    records, _ = unpaid_jobs(sample, Question(), resolve(sample, Question(), needs_closed_jobs=True))
    hours, jobs = {}, {}
    for row in records.iter_rows(named=True):
        hours[row["unit"]] = hours.get(row["unit"], 0) + sum(row[name] for name in HOURS)
        jobs[row["unit"]] = jobs.get(row["unit"], 0) + 1
    x, n = np.array(list(hours.values())), np.array(list(jobs.values()))
    # Cochran (1977), Sampling Techniques, section 2.11: variance of a ratio.
    error = 100 * math.sqrt(np.sum((x - x.sum() / n.sum() * n) ** 2)) / n.sum()
    found = evaluate(sample, "unpaid-hours").row(0, named=True)
    assert found["high"] - found["low"] == pytest.approx(2 * 1.96 * error, rel=0.1)
    assert evaluate(sample, "unpaid-hours").row(0, named=True) == found


def test_kinds_add_up_in_the_sample_and_say_what_they_leave_out(sample):
    found = evaluate(sample, "unpaid-hours").row(0, named=True)
    kinds = [value for name, value in found.items() if name.startswith("hours_")]
    assert sum(kinds) == pytest.approx(found["value"])
    # The sample gives no minutes to a visit that found nobody in.
    assert found["hours_no_access"] == 0
    assert "unpaid visits have no minutes: a floor" in found["note"]


def test_words_say_the_hours_and_what_most_of_them_are_for(sample):
    said = headline_words("unpaid-hours", evaluate(sample, "unpaid-hours"))
    assert "hours go unpaid" in said
    assert "returns under our own guarantee" in said
