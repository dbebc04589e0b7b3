"""tables.given_lines, tables.used_lines, tables.unnumbered_visits, tables.visit_heads, tables.visits, tables.lines: which lines make a visit, and what a line counts as."""

from tests.builds import built
from tests.table_text import assert_table


def tables(log, **lists):
    return built(log, facts=False, **lists)


def test_visits_are_told_apart_by_number():
    con = tables(
        """
        job_id | visit_no | unit_type | reported_at | started_at       | finished_at      | outcome       | hands_on_min
        J1     | 2        | washer    | 2026-01-05  | 2026-01-12T09:00 | 2026-01-12T10:00 | fixed         | 40
        J1     | 01       | washer    | 2026-01-05  | 2026-01-06T14:00 | 2026-01-06T14:30 | return booked | 25
        J1     | 1        | washer    | 2026-01-05  |                  |                  |               | 25
        """
    )
    assert_table(
        con,
        "tables.visits",
        """
        job_no | visit_no | started_at       | finished_on | outcome       | hands_on_min
        1      | 1        | 2026-01-06 14:00 | 2026-01-06  | return booked | 25
        1      | 2        | 2026-01-12 09:00 | 2026-01-12  | fixed         | 40
        """,
    )
    assert_table(con, "tables.lines", "record | visit_no\n1 | 2\n2 | 1\n3 | 1")


def test_visits_without_number_are_told_apart_by_start():
    con = tables(
        """
        job_id | unit_type | reported_at | started_at       | finished_at      | outcome
        J1     | washer    | 2026-01-05  | 2026-01-06T09:00 | 2026-01-06T10:00 | not finished
        J1     | washer    | 2026-01-05  | 2026-01-06T15:00 | 2026-01-06T16:00 | fixed
        J1     | washer    | 2026-01-05  | 2026-01-06T15:00 | 2026-01-06T16:00 |
        J2     | washer    | 2026-01-05  |                  | 2026-01-07       | fixed
        J2     | washer    | 2026-01-05  |                  |                  |
        """
    )
    assert_table(
        con,
        "tables.visits",
        """
        job_no | visit_no | started_at       | finished_at      | outcome
        1      | 1        | 2026-01-06 09:00 | 2026-01-06 10:00 | not finished
        1      | 2        | 2026-01-06 15:00 | 2026-01-06 16:00 | fixed
        2      | 1        |                  | 2026-01-07 00:00 | fixed
        """,
    )
    assert con.execute("select count(*) from tables.lines where job_no = 2 and visit_no = 1").fetchall() == [
        (2,)
    ]


def test_attended_means_that_somebody_stood_before_the_machine():
    con = tables(
        """
        job_id | unit_type | reported_at | finished_at | outcome
        J1     | washer    | 2026-01-05  | 2026-01-06  | cancelled
        J2     | washer    | 2026-01-05  | 2026-01-06  | no access
        J3     | washer    | 2026-01-05  |             | open
        J4     | washer    | 2026-01-05  | 2026-01-06  | open
        J5     | washer    | 2026-01-05  |             |
        J6     | washer    | 2026-01-05  |             | advised
        """
    )
    assert_table(
        con, "tables.visits", "job_no | is_attended\n1 | no\n2 | no\n3 | no\n4 | yes\n5 | no\n6 | yes"
    )


def test_visit_without_a_time_stands_where_its_number_puts_it():
    con = tables(
        """
        job_id | visit_no | unit_type | reported_at | finished_at | outcome
        J1     | 1        | washer    | 2026-01-05  | 2026-01-06  | return booked
        J1     | 2        | washer    | 2026-01-05  |             | no access
        J1     | 3        | washer    | 2026-01-05  | 2026-01-09  | fixed
        """
    )
    assert_table(con, "tables.visits", "visit_no | outcome\n1 | return booked\n2 | no access\n3 | fixed")


def test_last_visit_is_the_last_in_time_whatever_its_number():
    con = tables(
        """
        job_id | visit_no | unit_type | reported_at | finished_at | outcome
        J1     | 1        | washer    | 2026-01-05  | 2026-01-16  | fixed
        J1     | 2        | washer    | 2026-01-05  | 2026-01-09  | return booked
        """
    )
    assert_table(con, "tables.jobs", "outcome | finished_on\nfixed | 2026-01-16")


def test_visit_fields_that_disagree_are_counted_and_the_first_is_kept():
    con = tables(
        """
        job_id | visit_no | unit_type | make | reported_at | finished_at | outcome | charge
        J1     | 1        | washer    |      | 2026-01-05  | 2026-01-06  | fixed   | 80
        J1     | 1        | washer    | Orle | 2026-01-05  | 2026-01-06  | fixed   | 90
        J2     | 1        | washer    | Orle | 2026-01-05  | 2026-01-06  | fixed   | 70
        """
    )
    assert con.execute("select charge_minor from tables.visits order by job_no").fetchall() == [
        (8000,),
        (7000,),
    ]
    found = con.execute(
        "select column_name, level from tables.disagreements where count_disagreeing > 0"
    ).fetchall()
    assert found == [("charge_minor", "visit")]


def test_worked_part_is_one_that_was_worked_on_and_is_there():
    con = tables(
        """
        job_id | unit_type | reported_at | part_no | part_name  | part_status       | action
        J1     | washer    | 2026-01-05  | P1      |            |                   | replace
        J2     | washer    | 2026-01-05  | P1      |            | fitted            | free
        J3     | washer    | 2026-01-05  | P1      |            | taken out again   | replace
        J4     | washer    | 2026-01-05  | P1      |            | needed not on van | replace
        J5     | washer    | 2026-01-05  | P1      |            |                   | test
        J6     | washer    | 2026-01-05  |         |            |                   | clean
        J7     | washer    | 2026-01-05  |         | door seal  |                   | clean
        J8     | washer    | 2026-01-05  | P1      |            | in the post       | replace
        J9     | washer    | 2026-01-05  | P1      |            |                   | descale
        """
    )
    worked = (
        "job_no | is_worked_part\n1 | yes\n2 | yes\n3 | no\n4 | no\n5 | no\n6 | no\n7 | yes\n8 | no\n9 | no"
    )
    assert_table(con, "tables.lines", worked)


def test_outside_cause_is_a_finding_outside_the_machine_with_the_action_that_mends_it():
    con = tables(
        """
        job_id | unit_type | reported_at | finding                 | cause        | action
        J1     | washer    | 2026-01-05  | drain hose without rise | installation | correct installation
        J2     | washer    | 2026-01-05  | no high loop            |              | advise
        J3     | washer    | 2026-01-05  |                         | misuse       | advise
        J4     | washer    | 2026-01-05  | bearings worn           | wear         | advise
        J5     | washer    | 2026-01-05  | drain hose without rise |              | inspect
        J6     | washer    | 2026-01-05  |                         |              | correct installation
        """
    )
    assert_table(
        con,
        "tables.lines",
        """
        job_no | is_outside_cause | outside_cause
        1      | yes              | drain hose without rise
        2      | yes              | drain hose without rise
        3      | yes              | misuse
        4      | no               |
        5      | no               |
        6      | no               |
        """,
    )


def test_part_named_without_number_gets_it_when_the_list_has_one_of_that_name():
    con = tables(
        """
        job_id | unit_type | reported_at | part_no | part_name  | action
        J1     | washer    | 2026-01-05  |         | Drain pump | replace
        J2     | washer    | 2026-01-05  |         | hose       | replace
        J3     | washer    | 2026-01-05  |         | inlet hose | replace
        J4     | washer    | 2026-01-05  | 12-34   |            | replace
        """,
        parts="""
        part_no | part_name
        12.34   | drain pump
        55      | hose
        56      | hose
        """,
    )
    assert_table(
        con, "tables.lines", "job_no | part_key\n1 | 1234\n2 | name: hose\n3 | name: inlet hose\n4 | 1234"
    )


def test_several_symptoms_of_a_job_are_rows_of_their_own():
    con = tables(
        """
        job_id | unit_type | reported_at | symptom               | note
        J1     | washer    | 2026-01-05  | will not drain; noisy |
        J1     | washer    | 2026-01-05  | Noisy.                |
        J2     | washer    | 2026-01-05  |                       | replaced; leaks
        """
    )
    assert_table(con, "tables.job_symptoms", "job_no | symptom\n1 | not draining\n1 | noisy\n2 | leaks")
    assert_table(con, "tables.jobs", "job_no | symptom\n1 | not draining\n2 | leaks")
