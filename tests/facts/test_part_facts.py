"""facts.job_parts, facts.part_works, facts.same_symptom_cures, facts.part_off_risk, facts.part_fits."""

import pytest

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table

LINES = "job_no:bigint | part_key | action | is_worked_part:boolean"
JOBS = "job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp"


def facts(jobs, lines, symptoms="", machines="machine_no:bigint | first_job_no:bigint\n1 | 1", fits=""):
    con = drawn(
        tables__jobs=jobs,
        tables__lines=f"{LINES}\n" + "\n".join(f"{line} | true" for line in lines),
        tables__machines=machines,
        tables__job_symptoms=f"job_no:bigint | symptom\n{symptoms}",
        normalise__part_fits=f"part_key | unit_type\n{fits}",
    )
    make(con, "job_parts", "same_symptom_cures", "part_works", "part_off_risk", "part_fits")
    return con


def test_strongest_thing_done_to_a_part_stands():
    con = facts(
        f"{JOBS}\n1 | 1 | 2026-01-01 |",
        ["1 | P1 | clean", "1 | P1 | replace", "1 | P1 | free", "1 | P2 | reset", "1 | P2 | adjust"],
    )
    assert_table(con, "facts.part_works", "job_no | part_key | action\n1 | P1 | replace\n1 | P2 | adjust")


def test_source_is_that_of_the_strongest_thing_done_to_the_part():
    con = drawn(
        tables__jobs=f"{JOBS}\n1 | 1 | 2026-01-01 |",
        tables__lines=f"{LINES} | part_source\n1 | P1 | clean | true |\n1 | P1 | replace | true | pattern\n1 | P2 | free | true |",
    )
    make(con, "job_parts")
    assert_table(
        con, "facts.job_parts", "part_key | action | part_source\nP1 | replace | pattern\nP2 | free |"
    )


def test_lines_that_work_on_no_part_give_no_fact():
    con = drawn(
        tables__jobs=f"{JOBS}\n1 | 1 | 2026-01-01 |", tables__lines=f"{LINES}\n1 | P1 | replace | false"
    )
    make(con, "job_parts")
    assert_table(con, "facts.job_parts", "job_no | part_key")


@pytest.mark.parametrize(
    ("reported", "is_repeat", "is_overlapping"),
    [
        ("2026-01-10 09:59", False, True),
        ("2026-01-10 10:00", False, True),
        ("2026-01-10 10:01", True, False),
        ("2026-02-09 23:59", True, False),
        ("2026-02-10 00:00", False, False),
    ],
)
def test_work_within_thirty_days_of_the_finish_is_the_old_failure(reported, is_repeat, is_overlapping):
    con = facts(
        f"{JOBS}\n1 | 1 | 2026-01-01 | 2026-01-10 10:00\n2 | 1 | {reported} |",
        ["1 | P1 | clean", "2 | P1 | clean"],
    )
    sql = "select is_repeat, is_overlapping from facts.part_works order by job_no"
    assert con.execute(sql).fetchall() == [(False, False), (is_repeat, is_overlapping)]


def test_part_of_an_open_job_cannot_fail_again():
    con = facts(f"{JOBS}\n1 | 1 | 2026-01-01 |\n2 | 1 | 2026-09-01 |", ["1 | P1 | clean", "2 | P1 | clean"])
    assert_table(
        con, "facts.part_works", "job_no | is_overlapping | is_first_job\n1 | no | yes\n2 | yes | no"
    )


def test_other_parts_and_other_machines_do_not_count():
    con = facts(
        f"{JOBS}\n1 | 1 | 2026-01-01 | 2026-01-02\n2 | 1 | 2026-01-05 |\n3 | 2 | 2026-01-05 |\n4 | | 2026-01-06 |",
        ["1 | P1 | clean", "2 | P2 | clean", "3 | P1 | clean", "4 | P1 | clean"],
    )
    sql = "select count(*) from facts.part_works where is_repeat or is_overlapping"
    assert con.execute(sql).fetchall() == [(0,)]


def test_work_of_a_planned_service_is_history_and_no_failure():
    con = facts(
        f"{JOBS} | is_fault:boolean\n1 | 1 | 2026-01-01 | 2026-01-02 | false\n2 | 1 | 2026-01-20 | |",
        ["1 | P1 | adjust", "2 | P1 | replace"],
    )
    assert_table(con, "facts.part_works", "job_no | is_repeat\n2 | yes")
    assert_table(con, "facts.part_off_risk", "off_from | off_to\n2026-01-01 |")


def test_failure_is_unproven_when_another_part_cured_the_returning_symptom():
    jobs = f"{JOBS}\n1 | 1 | 2026-01-01 | 2026-01-02\n2 | 1 | 2026-01-20 | 2026-01-21"
    another = facts(jobs, ["1 | P1 | replace", "2 | P2 | replace"], "1 | noisy\n2 | noisy")
    assert_table(another, "facts.part_works", "job_no | is_confirmed\n1 | no\n2 | yes")
    same = facts(jobs, ["1 | P1 | replace", "2 | P1 | replace"], "1 | noisy\n2 | noisy")
    assert_table(same, "facts.part_works", "job_no | is_confirmed\n1 | yes\n2 | yes")
    other_symptom = facts(jobs, ["1 | P1 | replace", "2 | P2 | replace"], "1 | noisy\n2 | leaks")
    assert_table(other_symptom, "facts.part_works", "job_no | is_confirmed\n1 | yes\n2 | yes")


def test_returning_symptom_that_nobody_cured_or_that_came_late_proves_nothing():
    lines, symptoms = ["1 | P1 | replace", "2 | P2 | replace"], "1 | noisy\n2 | noisy"
    late = facts(f"{JOBS}\n1 | 1 | 2026-01-01 | 2026-01-02\n2 | 1 | 2026-02-02 | 2026-02-03", lines, symptoms)
    assert_table(late, "facts.part_works", "job_no | is_confirmed\n1 | yes\n2 | yes")
    uncured = facts(
        f"{JOBS} | is_index:boolean\n1 | 1 | 2026-01-01 | 2026-01-02 |\n2 | 1 | 2026-01-05 | 2026-01-06 | false",
        lines,
        symptoms,
    )
    assert_table(uncured, "facts.part_works", "job_no | is_confirmed\n1 | yes\n2 | yes")


def test_days_off_risk_run_from_report_to_thirty_days_after_the_finish_and_touch():
    con = facts(
        f"""{JOBS}
        1 | 1 | 2026-01-01 09:00 | 2026-01-05 10:00
        2 | 1 | 2026-02-04 08:00 | 2026-02-05 10:00
        3 | 1 | 2026-06-01 08:00 | 2026-06-30 10:00
        4 | 1 | 2026-06-10 08:00 | 2026-06-11 10:00
        5 | 1 | 2026-12-01 08:00 |
        """,
        [f"{job} | P1 | clean" for job in range(1, 6)],
    )
    assert_table(
        con,
        "facts.part_off_risk",
        "off_from | off_to\n2026-01-01 | 2026-03-07\n2026-06-01 | 2026-07-30\n2026-12-01 |",
    )


def test_part_fits_where_the_list_says_else_where_it_was_worked_on():
    con = facts(
        f"{JOBS} | unit_type\n1 | 1 | 2026-01-01 | | washer\n2 | 1 | 2026-01-02 | | dryer\n3 | | 2026-01-02 | | dryer",
        ["1 | P1 | clean", "2 | P2 | clean", "3 | P2 | clean"],
        fits="P1 | dishwasher\nP1 | dryer\nP9 | oven",
    )
    assert_table(
        con, "facts.part_fits", "part_key | unit_type\nP1 | dishwasher\nP1 | dryer\nP2 | dryer\nP9 | oven"
    )
