"""facts.repeats: the first later report on the machine of an index job, and whose it is."""

import pytest

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table

NO_PARTS = "job_no:bigint | part_key"
ONE_MACHINE = "machine_no:bigint | ended_on:date\n1 |"


def repeats(jobs, symptoms="", parts="", machines=ONE_MACHINE):
    con = drawn(
        tables__jobs=jobs,
        tables__machines=machines,
        tables__job_symptoms=f"job_no:bigint | symptom\n{symptoms}",
        facts__job_parts=f"{NO_PARTS}\n{parts}",
    )
    make(con, "repeats")
    return con


def test_first_later_report_on_the_machine_is_the_return():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp
        1             | 1                 | 2026-01-01 08:00      | 2026-01-03 10:00
        2             | 1                 | 2026-01-20 08:00      | 2026-01-21 10:00
        3             | 1                 | 2026-03-20 08:00      |
        """
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no | days_to_next\n1 | 2 | 17\n2 | 3 | 58")


def test_within_a_day_the_moment_decides():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp
        1             | 1                 | 2026-01-01 08:00      | 2026-01-03 10:00
        2             | 1                 | 2026-01-03 10:00      |
        3             | 1                 | 2026-01-03 10:01      |
        """
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no | days_to_next\n1 | 3 | 0")


def test_overlapping_job_is_no_return():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp
        1             | 1                 | 2026-01-01 08:00      | 2026-01-10 10:00
        2             | 1                 | 2026-01-05 08:00      |
        """
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no | days_to_next | next_is_same_fault\n1 | | |")


def test_return_is_charged_to_the_index_job_that_finished_last():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp
        1             | 1                 | 2026-01-01 08:00      | 2026-01-10 10:00
        2             | 1                 | 2026-01-05 08:00      | 2026-01-12 10:00
        3             | 1                 | 2026-01-20 08:00      |
        """
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no\n1 |\n2 | 3")


def test_jobs_that_are_no_faults_neither_come_back_nor_are_come_back_from():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp | is_fault:boolean | is_index:boolean
        1             | 1                 | 2026-01-01 08:00      | 2026-01-03 10:00      |                  |
        2             | 1                 | 2026-01-20 08:00      | 2026-01-21 10:00      | false            | false
        3             | 1                 | 2026-02-20 08:00      | 2026-02-21 10:00      |                  | false
        4             | 1                 | 2026-03-20 08:00      |                       |                  |
        """
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no\n1 | 3")


def test_jobs_of_other_machines_and_of_none_do_not_count():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp
        1             | 1                 | 2026-01-01 08:00      | 2026-01-03 10:00
        2             | 2                 | 2026-01-05 08:00      | 2026-01-06 10:00
        3             |                   | 2026-01-06 08:00      | 2026-01-07 10:00
        """,
        machines="machine_no:bigint | ended_on:date\n1 |\n2 |",
    )
    assert_table(con, "facts.repeats", "job_no | next_job_no\n1 |\n2 |")


TWO_JOBS = """
job_no:bigint | machine_no:bigint | reported_at:timestamp | finished_at:timestamp | return_of | return_reason
1             | 1                 | 2026-01-01 08:00      | 2026-01-03 10:00      |           |
2             | 1                 | 2026-01-20 08:00      |                       | {}        | {}
"""


@pytest.mark.parametrize(
    ("said", "symptoms", "parts", "is_same"),
    [
        (("", ""), "1 | noisy\n2 | leaks", "1 | P1\n2 | P2", False),
        (("", ""), "1 | noisy\n1 | leaks\n2 | leaks", "", True),
        (("", ""), "", "1 | P1\n1 | P2\n2 | P2", True),
        (("J1", ""), "", "", True),
        (("J9", ""), "", "", False),
        (("", "same fault"), "", "", True),
        (("", "wrong diagnosis"), "", "", True),
        (("", "unrelated"), "", "", False),
        (("", "use"), "1 | noisy\n2 | noisy", "", True),
    ],
)
def test_same_fault_shares_symptom_or_part_or_says_so(said, symptoms, parts, is_same):
    con = repeats(TWO_JOBS.format(*said), symptoms, parts)
    assert con.execute("select next_is_same_fault from facts.repeats").fetchall() == [(is_same,)]


def test_job_number_named_as_origin_counts_in_its_own_source_only():
    con = repeats(
        """
        job_no:bigint | machine_no:bigint | source | reported_at:timestamp | finished_at:timestamp | return_of
        1             | 1                 | a      | 2026-01-01 08:00      | 2026-01-03 10:00      |
        2             | 1                 | b      | 2026-01-20 08:00      |                       | J1
        """
    )
    assert con.execute("select next_is_same_fault from facts.repeats").fetchall() == [(False,)]


@pytest.mark.parametrize(
    ("ended", "removed"), [("2026-02-01", "2026-02-01"), ("2026-01-03", "2026-01-03"), ("2026-01-02", "")]
)
def test_end_of_the_machine_counts_from_the_finish_on(ended, removed):
    con = repeats(TWO_JOBS.format("", ""), machines=f"machine_no:bigint | ended_on:date\n1 | {ended}")
    assert_table(con, "facts.repeats", f"job_no | removed_on\n1 | {removed}")
