"""tables.suffixed_jobs, tables.jobs_joined, tables.returns_named: job numbers with a suffix, and numbers that merely look alike."""

import pytest

from tests.builds import built
from tests.table_text import assert_table

HEADER = "job_id | visit_no | unit_id | site_id | unit_type | make | reported_at | finished_at | outcome"


def jobs_of(*rows):
    """Job numbers that are one job, for each job with more than one."""
    sql = """
        select list(distinct numbers.job_id order by numbers.job_id)
        from tables.joined_jobs as joined join normalise.job_numbers as numbers on numbers.job_no = joined.given_no
        group by joined.job_no order by 1
    """
    return [found for (found,) in log(*rows).execute(sql).fetchall()]


def log(*rows):
    return built("\n".join((HEADER, *rows)), facts=False)


def row(job_id, unit="u1", site="", *, kind="washer", make="", day="2026-01-05"):
    return f"{job_id} | | {unit} | {site} | {kind} | {make} | {day} | {day} | fixed"


@pytest.mark.parametrize(
    "number",
    ["1234-1", "1234/2", "1234-A", "1234 b", "1234 rtn", "1234RTN", "1234 - 2", "1234-return 2", "1234/RET"],
)
def test_number_with_a_suffix_is_the_job_of_the_bare_number(number):
    assert jobs_of(row("1234"), row(number)) == [["1234", number]]


def test_patterns_together():
    numbers = ["A1001", "A1001-1", "a1001/2", "1002-1", "1002-B", "3003", "3003 rtn"]
    assert jobs_of(*map(row, numbers)) == [
        ["1002-1", "1002-B"],
        ["3003", "3003 rtn"],
        ["A1001", "A1001-1", "a1001/2"],
    ]


def test_numbers_that_merely_look_alike_are_left_apart():
    assert jobs_of(row("1234"), row("12345"), row("1234G"), row("1234-0"), row("1234-X"), row("1235-1")) == []
    assert jobs_of(row("J-1"), row("J-2"), row("24-1"), row("24-2")) == []
    assert jobs_of(row("5000-1"), row("5000-2"), row("5000-17")) == []
    assert (
        jobs_of(
            row("2026-1"),
            row("2026-2"),
            row("202601-1"),
            row("202601-2"),
            row("20260105-1"),
            row("20260105-2"),
        )
        == []
    )


def test_bare_number_makes_a_year_a_base():
    assert jobs_of(row("2026"), row("2026-1")) == [["2026", "2026-1"]]


def test_other_machine_site_kind_or_make_keeps_numbers_apart():
    assert jobs_of(row("1234", "u1"), row("1234-1", "u2")) == []
    assert jobs_of(row("1234", "", "s1"), row("1234-1", "", "s2")) == []
    assert jobs_of(row("1234", "", kind="washer"), row("1234-1", "", kind="dryer")) == []
    assert jobs_of(row("1234", "", make="Orle"), row("1234-1", "", make="Vann")) == []


def test_number_without_a_machine_joins_the_one_that_has_it():
    assert jobs_of(row("1234", "u1"), row("1234-1", "")) == [["1234", "1234-1"]]


def test_of_several_machines_those_on_one_are_joined():
    assert jobs_of(row("1234", "u1"), row("1234-1", "u2"), row("1234-2", "u1"), row("1234-3", "")) == [
        ["1234", "1234-2"]
    ]


def test_without_machine_and_site_the_days_must_be_near():
    assert jobs_of(row("1234", ""), row("1234-1", "", day="2026-07-04")) == [["1234", "1234-1"]]
    assert jobs_of(row("1234", ""), row("1234-1", "", day="2026-07-05")) == []


def test_visits_of_a_suffixed_number_stay_visits_of_their_own():
    con = log(
        "1234 | 1 | u1 | | washer | Orle | 2026-01-05 | 2026-01-06 | return booked",
        "1234-1 | 1 | | | washer | | 2026-01-12 | 2026-01-13 | fixed",
        "9 | 1 | u1 | | washer | | 2026-02-12 | 2026-02-13 | fixed",
    )
    assert_table(
        con,
        "tables.jobs",
        """
        job_id | reported_on | finished_on | outcome | count_visits | machine_rung | make
        1234   | 2026-01-05  | 2026-01-13  | fixed   | 2            | unit_id      | Orle
        9      | 2026-02-12  | 2026-02-13  | fixed   | 1            | unit_id      | Orle
        """,
    )
    assert_table(
        con,
        "tables.jobs_joined",
        "rule | count_jobs | count_visits\nnumber with a suffix | 1 | 2\nsame number | 1 | 1",
    )
    assert con.execute("select sum(count_disagreeing) from tables.disagreements").fetchall() == [(0,)]


def test_return_names_the_job_that_its_number_was_joined_into():
    con = built(
        """
        job_id | return_of | unit_id | unit_type | reported_at | finished_at | outcome | symptom
        1234   |           | u1      | washer    | 2026-01-05  | 2026-01-06  | temporary | leaks
        1234-1 |           | u1      | washer    | 2026-01-12  | 2026-01-13  | fixed   |
        1250   | 1234-1    | u1      | washer    | 2026-02-01  | 2026-02-02  | fixed   | noisy
        1260   | 1200      | u1      | washer    | 2026-04-01  | 2026-04-02  | fixed   | hums
        """
    )
    assert con.execute("select count(*) from tables.returns_named").fetchall() == [(1,)]
    sql = "select jobs.job_id, next_is_same_fault from facts.repeats join tables.jobs using (job_no) order by all"
    assert con.execute(sql).fetchall() == [("1234", True), ("1250", False), ("1260", None)]
