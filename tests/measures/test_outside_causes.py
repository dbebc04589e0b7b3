"""outside-causes on a log small enough to count by eye: found where looked for, and what was done before it was found."""

from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from tests.builds import built

HEADER = (
    "job_id | unit_id | unit_type | reported_at | finished_at | outcome | symptom | finding | action | part_no | part_cost | charge | "
    "payer | hands_on_min | installation_looked_at"
)
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 12, 1))


def line(job, unit, on, **cells):
    given = {
        "job_id": job, "unit_id": unit, "unit_type": "dishwasher", "reported_at": on, "finished_at": on, "outcome": "fixed",
        "symptom": "not draining", "payer": "customer", "charge": "80", "hands_on_min": "30",
        "installation_looked_at": "yes",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


PUMP = {"part_no": "P1", "action": "replace", "part_cost": "38", "installation_looked_at": ""}
FREE = {"payer": "own guarantee", "charge": "0"}
LOOP = {"finding": "no high loop", "action": "correct installation"}


def log():
    return [
        line("A", "U1", "2026-02-01", **PUMP),
        line("B", "U1", "2026-02-20", **PUMP, **FREE),
        line("C", "U1", "2026-03-01", **LOOP),
        # Too long before, and another symptom.
        line("D", "U2", "2026-01-05", **PUMP),
        line("E", "U2", "2026-04-20", symptom="noisy", **PUMP),
        line("F", "U2", "2026-05-01", **LOOP),
        *(line(f"G{at}", f"V{at}", "2026-03-03", action="clean", part_no="P1") for at in range(18)),
        line("H", "V99", "2026-03-04", **{**LOOP, "installation_looked_at": ""}),
    ]


def test_found_where_looked_for_and_what_came_before():
    row = evaluate(built("\n".join([HEADER, *log()])), "outside-causes", WINDOW).row(0, named=True)
    assert (row["finding"], row["numerator"], row["denominator"]) == ("drain hose without rise", 2, 20)
    # Of three jobs with the cause one had two fixes before, an hour of which half was free, and two pumps.
    assert (row["jobs"], row["fixes_before"], row["parts_before"]) == (
        3,
        pytest.approx(2 / 3),
        pytest.approx(2 / 3),
    )
    assert (row["hours_before"], row["unpaid_hours_before"]) == (pytest.approx(1 / 3), pytest.approx(0.5 / 3))
    assert (row["parts_cost_before"], row["currency"]) == (pytest.approx(76 / 3), None)
    assert "found in 1 more" in row["note"]
    assert "association" in row["basis"]


def test_log_that_never_says_that_somebody_looked_is_refused():
    con = built("\n".join([HEADER, line("A", "U", "2026-02-01", **{**LOOP, "installation_looked_at": ""})]))
    with pytest.raises(CannotAnswerError, match="installation_looked_at"):
        evaluate(con, "outside-causes", WINDOW)
