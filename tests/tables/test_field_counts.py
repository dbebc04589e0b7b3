"""tables.job_fields, tables.visit_fields, tables.line_fields, tables.job_counts, tables.late_jobs: what rows carry."""

from tests.builds import LogFile, built
from tests.table_text import assert_table

HEADER = "job_id | visit_no | unit_id | unit_type | reported_at | finished_at | outcome | action | part_no | symptom"
FIRST = f"""{HEADER}
J1 | 1 | U1 | washer       | 2026-01-05 | 2026-01-06 | fixed | replace | P1 | noisy
J1 | 1 | U1 | washer       | 2026-01-05 | 2026-01-06 | fixed | test    |    | noisy
J2 | 1 |    | kind unknown | 2026-01-30 | 2026-02-01 |       | clean   |    |
J2 | 2 |    | kind unknown | 2026-01-30 |            | open  |         |    |
J3 | 1 | U2 | washer       |            | soon       | fixed | replace | P2 | noisy
"""
SECOND = f"""{HEADER}
J2 | 2 |    | kind unknown | 2026-01-30 | 2026-02-03 | fixed | clean | P1 |
J4 | 1 | U2 | washer       | 2026-01-20 | 2026-01-21 | fixed |       |    |
J5 | 1 | U2 | washer       | 2026-01-30 | 2026-02-03 | fixed |       |    |
"""


def con(*later):
    return built(FIRST, *(LogFile(text, load_no=2) for text in later), facts=False)


def test_each_job_is_counted_once_with_what_any_of_its_lines_says():
    assert_table(
        con(),
        "tables.job_fields",
        """
        file_no:int | month_on:date | count_jobs:int | unit_id:int | unit_type:int | symptom:int
        1           | 2026-01-01    | 2              | 1           | 1             | 1
        """,
    )


def test_each_visit_is_counted_in_the_month_of_its_end():
    assert_table(
        con(),
        "tables.visit_fields",
        """
        month_on:date | count_visits:int | finished_at:int | outcome:int
        2026-01-01    | 2                | 1               | 2
        2026-02-01    | 1                | 1               | 0
        """,
    )


def test_a_part_is_missed_only_where_one_was_worked_on():
    assert_table(
        con(),
        "tables.line_fields",
        """
        month_on:date | count_lines:int | count_works:int | part_no:int | action:int
        2026-01-01    | 3               | 1               | 1           | 2
        2026-02-01    | 1               | 1               | 0           | 1
        """,
    )


def test_jobs_are_counted_by_rung_and_rule_in_the_file_that_began_them():
    assert_table(
        con(SECOND),
        "tables.job_counts",
        """
        file_no:int | machine_rung | joined_by   | count_jobs:int
        1           | none         | same number | 1
        1           | unit_id      | same number | 1
        2           | unit_id      | same number | 2
        """,
    )


def test_a_new_job_is_late_when_an_earlier_load_holds_later_reports():
    assert_table(
        con(SECOND),
        "tables.late_jobs",
        """
        file_no:int | count_jobs:int | count_late:int | mean_days:double | longest_days:int
        2           | 2              | 1              | 10               | 10
        """,
    )
    assert con().execute("select count(*) from tables.late_jobs").fetchall() == [(0,)]
