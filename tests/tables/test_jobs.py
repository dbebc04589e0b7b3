"""tables.given_heads, tables.job_heads, tables.job_ends, tables.fix_choosers, tables.jobs: what a job is and how it ended."""

import pytest

from tests.builds import built
from tests.table_text import assert_table

FINAL = (
    "fixed",
    "no fault found",
    "advised",
    "quote declined",
    "beyond economic repair",
    "referred",
    "made safe",
    "unknown",
)
NOT_FINAL = ("temporary", "return booked", "awaiting customer", "not finished", "open", "", "invoiced")


def job_of(outcome):
    log = f"job_id | unit_type | reported_at | finished_at | outcome\nJ1 | washer | 2026-01-05 | 2026-01-07 | {outcome}"
    return (
        built(log, facts=False)
        .execute("select finished_on is not null, is_index from tables.jobs")
        .fetchall()[0]
    )


@pytest.mark.parametrize("outcome", FINAL)
def test_job_ends_with_a_final_outcome(outcome):
    assert job_of(outcome) == (True, outcome == "fixed")


@pytest.mark.parametrize("outcome", NOT_FINAL)
def test_job_stays_open_without_a_final_outcome(outcome):
    assert job_of(outcome) == (False, False)


def test_last_attended_visit_decides():
    con = built(
        """
        job_id | visit_no | unit_type | reported_at | finished_at | outcome       | hands_on_min | travel_min | charge
        J1     | 1        | washer    | 2026-01-05  | 2026-01-06  | return booked | 20           | 10         | 50
        J1     | 2        | washer    | 2026-01-05  | 2026-01-08  | no access     |              | 10         |
        J1     | 3        | washer    | 2026-01-05  | 2026-01-10  | fixed         | 30.5         | 10         | 80.25
        J1     | 4        | washer    | 2026-01-05  | 2026-01-12  | cancelled     |              |            |
        J2     | 1        | washer    | 2026-01-05  | 2026-01-06  | cancelled     |              |            |
        """,
        facts=False,
    )
    assert_table(
        con,
        "tables.jobs",
        """
        job_no | outcome   | finished_on | first_visit_on | count_visits | hands_on_min | travel_min | charge_minor
        1      | fixed     | 2026-01-10  | 2026-01-06     | 2            | 50.5         | 30         | 13025
        2      | cancelled |             |                | 0            |              |            |
        """,
    )


@pytest.mark.parametrize(
    ("kind", "is_fault"),
    [("", True), ("fault", True), ("Breakdown", True), ("workshop", True), ("planned service", False),
     ("installation", False), ("recall work", False), ("quote only", False), ("tuning", False)],
)  # fmt: skip
def test_only_fault_and_workshop_jobs_are_faults(kind, is_fault):
    log = f"job_id | unit_type | reported_at | finished_at | outcome | job_kind\nJ1 | washer | 2026-01-05 | 2026-01-07 | fixed | {kind}"
    con = built(log, facts=False)
    assert con.execute("select is_fault, is_index from tables.jobs").fetchall() == [(is_fault, is_fault)]


def test_workshop_job_has_no_travel():
    log = """
        job_id | unit_type | job_kind | reported_at | finished_at | travel_min
        J1     | washer    | workshop | 2026-01-05  | 2026-01-07  | 20
        J2     | washer    |          | 2026-01-05  | 2026-01-07  | 20
        """
    assert_table(built(log, facts=False), "tables.jobs", "job_id | travel_min\nJ1 |\nJ2 | 20")


def test_fixed_without_a_time_is_no_index_job():
    con = built("job_id | unit_type | reported_at | outcome\nJ1 | washer | 2026-01-05 | fixed", facts=False)
    assert_table(con, "tables.jobs", "outcome | is_closed | is_index | finished_on\nfixed | yes | no |")


def test_the_visit_that_chose_the_fix_and_the_one_that_fitted_it_are_kept_apart():
    con = built(
        """
        job_id | visit_no | unit_type | reported_at | finished_at | outcome       | technician | part_no | part_status       | action
        J1     | 1        | washer    | 2026-01-05  | 2026-01-06  | return booked | ann        | P1      | needed not on van | inspect
        J1     | 1        | washer    | 2026-01-05  | 2026-01-06  | return booked | ann        | P2      | taken out again   | replace
        J1     | 2        | washer    | 2026-01-05  | 2026-01-09  | fixed         | bob        | P1      |                   | replace
        J2     | 1        | washer    | 2026-01-05  | 2026-01-06  | return booked | ann        | P2      |                   | clean
        J2     | 2        | washer    | 2026-01-05  | 2026-01-09  | fixed         | bob        | P1      |                   | replace
        J3     | 1        | washer    | 2026-01-05  | 2026-01-06  | fixed         | cay        |         |                   | advise
        """,
        facts=False,
    )
    assert_table(
        con,
        "tables.jobs",
        "job_no | technician | technician_fitted\n1 | ann | bob\n2 | bob | bob\n3 | cay | cay",
    )


def test_age_at_report_is_from_installation_else_making_else_what_was_told():
    con = built(
        """
        job_id | unit_type | reported_at | installed_on | made_on    | age_years
        J1     | washer    | 2026-01-01  | 2020-01-01   | 2019-01-01 | 3
        J2     | washer    | 2026-01-01  |              | 2022       | 3
        J3     | washer    | 2026-01-01  |              |            | 7.5
        J4     | washer    | 2026-01-01  |              |            |
        """,
        facts=False,
    )
    ages = [row[0] for row in con.execute("select age_years from tables.jobs order by job_no").fetchall()]
    assert ages == [pytest.approx(2192 / 365.25), pytest.approx(1461 / 365.25), 7.5, None]


def test_job_numbers_run_through_the_sources_in_order():
    con = built(
        "job_id | unit_type | reported_at\nB | washer | 2026-01-05\nA | washer | 2026-01-06", facts=False
    )
    assert_table(con, "tables.jobs", "job_no | job_id\n1 | A\n2 | B")


def test_finish_without_time_of_day_is_not_before_a_report_of_the_same_day():
    con = built(
        "job_id | unit_type | reported_at | finished_at | outcome\nJ1 | washer | 2026-01-05T09:00 | 2026-01-05 | fixed",
        facts=False,
    )
    assert_table(con, "tables.jobs", "reported_at | finished_at\n2026-01-05 09:00 | 2026-01-05 09:00")
