"""Booked calls and the machine of a call: by job number, with what was done before, and nobody's name."""

import json
from datetime import date, datetime

import pytest

from pipeline.cli import main
from pipeline.measures.calls import SAFE, answers, call_of, calls, days_with_calls
from pipeline.measures.machine_before import before, before_text
from tests.builds import built

HEAD = (
    "job_id | unit_id | unit_type | make | model | symptom | reported_at | booked_for | finished_at | part_no | part_name | "
    "action | finding | outcome"
)
DONE = "J{n} | {unit} | washer | Zed | Z1 | {symptom} | {day} | {day} | {day} | {part} | {part} | {action} | {finding} | fixed"
OPEN = "J{n} | {unit} | washer | Zed | Z1 | {symptom} | 2026-03-01T10:00 | {day} | | | | | | {outcome}"


def log(*lines, **lists):
    return built("\n".join([HEAD, *lines]), **lists)


def done(  # noqa: PLR0917 -- columns of a log
    n, unit="M1", symptom="not draining", day="2026-01-10", part="pump", action="replace", finding=""
):
    return DONE.format(n=n, unit=unit, symptom=symptom, day=day, part=part, action=action, finding=finding)


def booked(n, unit="M1", symptom="not draining", day="2026-03-02T09:30", outcome="open"):
    return OPEN.format(n=n, unit=unit, symptom=symptom, day=day, outcome=outcome)


@pytest.fixture
def con():
    fixes = [done(n, f"A{n}", day=f"2025-0{1 + n % 9}-01") for n in range(10, 22)]
    before_it = [
        done(1, day="2025-05-01"),
        done(2, day="2026-01-10", part="", action="correct installation", finding="drain hose kinked"),
        done(3, symptom="noisy", day="2026-02-10", part="belt"),
    ]
    return log(
        *fixes,
        *before_it,
        booked(100),
        booked(101, "M9", "burning smell, not now", day="2026-03-02T08:00"),
        booked(102, "M8", day="2026-03-04T09:00"),
        booked(103, "M7", day="2026-03-02T07:00", outcome="cancelled"),
    )


def test_only_calls_booked_and_not_done_are_listed_in_the_order_of_the_day(con):
    assert days_with_calls(con) == [(date(2026, 3, 2), 2), (date(2026, 3, 4), 1)]
    some = calls(con, date(2026, 3, 2))
    assert [call.job_id for call in some] == ["J101", "J100"]
    assert some[1].booked_at == datetime(2026, 3, 2, 9, 30)


def test_each_call_has_its_answer_and_a_danger_none(con):
    some = calls(con, date(2026, 3, 2))
    # Twelve pumps on other machines, one on this, and one hose; the noisy one is another complaint.
    assert answers(con, some) == [SAFE, "pump, 13 of 14"]


def test_a_call_holds_no_person_and_no_address(con):
    assert not {"site_id", "technician", "postcode", "area", "serial", "unit_id"} & set(
        vars(calls(con, date(2026, 3, 2))[0])
    )


def test_the_machine_before_gives_guarantee_outside_cause_and_timeline(con):
    found = before(con, call_of(con, "j100"))
    assert [visit.job_id for visit in found.visits] == ["J3", "J2", "J1"]
    assert (found.guarantee.job_id, found.guarantee.guarantee_to) == ("J3", date(2026, 5, 11))
    assert found.outside == ("2026-01-10: drain hose kinked",)
    text = before_text(found)
    assert (
        text.index("Guarantee open to 2026-05-11")
        < text.index("Look there first")
        < text.index("3 earlier jobs")
    )
    # Only what came before: the first job knew nothing of the others.
    assert before(con, call_of(con, "J1")).visits == ()


def test_a_danger_before_and_a_notice_of_the_model_stand_first():
    con = log(
        done(1, symptom="smell of burning", day="2026-01-10"),
        booked(100),
        notices="make | model | text\nZED | z-1 | Lead may chafe.\nZed | Z2 | Another model.",
    )
    found = before(con, call_of(con, "J100"))
    assert len(found.dangers) == 1
    assert [text.split(".")[0] for text in found.notices] == ["Zed z-1: Lead may chafe"]
    assert before_text(found).startswith("Danger reported before: 2026-01-10: washer, burning smell")


def test_a_machine_without_identity_says_so_and_a_strange_number_is_none():
    con = log(booked(100, ""))
    call = call_of(con, "J100")
    assert "the log does not know" in before_text(before(con, call))
    assert call_of(con, "J7") is None
    assert call_of(con, "") is None


def test_command_lists_calls_and_takes_a_job(sample_store, capsys):
    assert main(["symptom", "--calls", "--format", "json", "--store", str(sample_store)]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["job_id"] for row in rows][:2] == ["J26-03963", "J26-03960"]
    assert set(rows[0]) == {"job_id", "booked_at", "unit_type", "make", "model", "symptom", "answer"}
    assert main(["symptom", "--job", "J26-03961", "--store", str(sample_store)]) == 0
    told = capsys.readouterr()
    assert told.err.index("This machine before: 2 earlier jobs") < told.err.index("Isolate the electricity")
    assert "circulation pump" in told.out
    assert main(["symptom", "--job", "J99", "--store", str(sample_store)]) == 1
