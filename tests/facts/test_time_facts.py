"""facts.windows, facts.exposure, facts.outside_causes."""

import pytest

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table

JOBS = "job_no:bigint | reported_at:timestamp | finished_at:timestamp"
WINDOW = "first_on | last_report_on | reports_complete_to | closed_complete_to | lag_days"


def windows(jobs, first_day="2026-01-01"):
    con = drawn(
        tables__jobs=f"{JOBS}\n{jobs}",
        tables__job_heads=f"job_no:bigint | first_day_on:date\n1 | {first_day}",
    )
    make(con, "windows")
    return con


def test_window_runs_from_the_first_day_to_the_end_of_the_last_report():
    con = windows(
        "1 | 2026-01-03 09:00 | 2026-01-03 12:00\n2 | 2026-02-01 23:59 | 2026-02-20 12:00", "2026-01-02"
    )
    assert_table(con, "facts.windows", f"{WINDOW}\n2026-01-02 | 2026-02-01 | 2026-02-02 | 2026-01-14 | 19")


def test_closed_jobs_are_complete_to_where_95_in_100_are_closed():
    jobs = [f"{n} | 2026-01-{n:02d} | 2026-01-{n:02d} 10:00" for n in range(1, 20)]
    con = windows("\n".join([*jobs, "20 | 2026-01-20 | 2026-01-29", "21 | 2026-01-21 |"]))
    assert_table(con, "facts.windows", f"{WINDOW}\n2026-01-01 | 2026-01-21 | 2026-01-22 | 2026-01-22 | 0")
    con = windows("\n".join([*jobs[:18], "19 | 2026-01-19 | 2026-01-29", "20 | 2026-01-20 | 2026-01-29"]))
    assert_table(con, "facts.windows", f"{WINDOW}\n2026-01-01 | 2026-01-20 | 2026-01-21 | 2026-01-12 | 9")


@pytest.mark.parametrize(("last", "counts"), [("2026-04-11", True), ("2026-04-12", False)])
def test_last_date_far_from_its_neighbour_does_not_set_the_window(last, counts):
    con = windows(f"1 | 2026-01-01 |\n2 | 2026-01-11 |\n3 | {last} |")
    assert_table(con, "facts.windows", f"last_report_on\n{last if counts else '2026-01-11'}")


def test_log_without_any_date_has_no_window():
    con = drawn(tables__jobs="", tables__job_heads="job_no:bigint | first_day_on:date")
    make(con, "windows")
    assert_table(con, "facts.windows", f"{WINDOW}\n| | | | 0")


def exposure(machines):
    header = (
        "machine_no:bigint | is_listed:boolean | installed_on:date | first_finish_on:date | ended_on:date"
    )
    con = drawn(tables__machines=f"{header}\n{machines}", facts__windows="first_on:date\n2026-01-01")
    make(con, "exposure")
    return con


def test_listed_machine_is_under_observation_from_installation_to_its_end():
    con = exposure(
        "1 | true | 2020-05-01 | | 2026-03-01\n2 | true | 2026-02-01 | |\n3 | true | | | 2026-01-01\n4 | false | 2020-05-01 | |"
    )
    assert_table(
        con,
        "facts.exposure",
        "machine_no | basis | enter_on | exit_on\n1 | machine list | 2020-05-01 | 2026-03-01\n2 | machine list | 2026-02-01 |",
    )


def test_listed_machine_of_unknown_age_is_there_from_the_logs_first_day():
    assert_table(exposure("1 | true | | |"), "facts.exposure", "enter_on | exit_on\n2026-01-01 |")


def test_machine_seen_is_under_observation_from_the_finish_of_its_first_job():
    con = exposure(
        "1 | false | | 2026-01-20 | 2026-06-01\n2 | false | | |\n3 | false | | 2026-01-20 | 2026-01-20"
    )
    assert_table(
        con,
        "facts.exposure",
        "machine_no | basis | enter_on | exit_on\n1 | machines seen | 2026-01-20 | 2026-06-01",
    )


def test_outside_cause_counts_once_a_fault_job_with_the_stronger_action():
    con = drawn(
        tables__jobs="job_no:bigint | is_fault:boolean\n1 | true\n2 | false\n3 | true",
        tables__lines="""
        job_no:bigint | outside_cause     | action               | is_outside_cause:boolean
        1             | not level         | advise               | true
        1             | not level         | correct installation | true
        1             | vent duct blocked | advise               | true
        2             | not level         | advise               | true
        3             |                   | replace              | false
        """,
    )
    make(con, "outside_causes")
    assert_table(
        con,
        "facts.outside_causes",
        "job_no | cause | action\n1 | not level | correct installation\n1 | vent duct blocked | advise",
    )
