"""tables.completing_lines, tables.completing_numbers, tables.completed_visits, tables.completing_rows,
tables.repeated_completions, tables.head_lines, tables.own_lines: files that say more about the visits of another."""

import pytest

from tests.builds import Completes, Layout, LogFile, built
from tests.table_text import assert_table

DIARY = """
    job_id | visit_no | site_id | unit_type | reported_at | finished_at      | outcome       | symptom
    J1     | 1        | s1      | washer    | 2026-01-05  | 2026-01-06T10:00 | return booked | noisy
    J1     | 2        | s1      | washer    | 2026-01-05  | 2026-01-12T10:00 | fixed         |
    J2     | 1        | s2      | dryer     | 2026-01-08  | 2026-01-09T10:00 | fixed         | leaks
    """
BY_NUMBER = {"bills": Layout(completes=Completes("diary"))}
BY_ADDRESS = {"bills": Layout(completes=Completes("diary", ("site_id", "finished_at")))}
BY_REPORT = {"bills": Layout(completes=Completes("diary", ("site_id", "reported_at")))}


def loaded(*bills, diary=DIARY, layouts=BY_NUMBER, facts=False):
    files = [LogFile(text, load_no=load, layout="bills") for load, text in enumerate(bills, 2)]
    return built(LogFile(diary, layout="diary"), *files, layouts=layouts, facts=facts)


def fates(con, *file_nos):
    sql = "select fate from tables.fates where file_no = any($1) order by file_no, record"
    return [fate for (fate,) in con.execute(sql, [file_nos or (2,)]).fetchall()]


def reasons(con):
    sql = "select column_name, reason from tables.fates where fate = 'set aside' order by file_no, record"
    return con.execute(sql).fetchall()


def parts(con):
    """Job, visit and part of each line that names one."""
    sql = """
        select jobs.job_id, lines.visit_no, lines.part_no from tables.lines as lines join tables.jobs as jobs using (job_no)
        where lines.part_no is not null order by all
    """
    return con.execute(sql).fetchall()


def test_rows_with_a_number_go_to_the_visit_of_their_day_or_the_last_before_it_or_the_last():
    con = loaded(
        """
        job_id | finished_at | part_no | action
        J1     | 2026-01-06  | ON1     | replace
        J1     | 2026-01-12  | ON2     | replace
        J1     | 2026-01-11  | BEFORE1 | replace
        J1     | 2026-02-20  | BEFORE2 | replace
        J1     | 2026-01-01  | LAST2   | replace
        J1     |             | NONE2   | replace
        J2     | 2026-03-01  | X       | replace
        """
    )
    assert fates(con) == ["used"] * 7
    assert parts(con) == sorted(
        [("J1", 1, "ON1"), ("J1", 1, "BEFORE1"), ("J2", 1, "X")]
        + [("J1", 2, part) for part in ("ON2", "BEFORE2", "LAST2", "NONE2")]
    )
    assert con.execute("select count(*) from tables.jobs").fetchall() == [(2,)]


def test_only_what_the_visit_leaves_empty_is_filled_and_a_disagreement_is_reported():
    con = loaded(
        """
        job_id | finished_at | outcome   | charge | make | symptom | payer
        J1     | 2026-01-12  |           | 120.50 | Orle | leaks   | customer
        J2     | 2026-01-20  | temporary | 80     | Vann |         |
        """
    )
    assert_table(
        con,
        "tables.visits",
        """
        job_no | visit_no | finished_at      | outcome       | charge_minor | payer
        1      | 1        | 2026-01-06 10:00 | return booked |              |
        1      | 2        | 2026-01-12 10:00 | fixed         | 12050        | customer
        2      | 1        | 2026-01-09 10:00 | fixed         | 8000         |
        """,
    )
    assert_table(
        con,
        "tables.jobs",
        "job_id | symptom | make | reported_on | outcome\nJ1 | noisy | Orle | 2026-01-05 | fixed\nJ2 | leaks | Vann | 2026-01-08 | fixed",
    )
    found = "select column_name, count_disagreeing from tables.disagreements where count_disagreeing > 0"
    assert con.execute(found).fetchall() == [("outcome", 1)]


def test_day_of_a_row_is_that_of_a_visit_that_has_none():
    diary = "job_id | unit_type | reported_at | outcome\nJ1 | washer | 2026-01-05 | fixed"
    con = loaded("job_id | finished_at | charge\nJ1 | 2026-01-07 | 10", diary=diary)
    assert_table(con, "tables.jobs", "finished_on | is_index\n2026-01-07 | yes")


def test_serial_in_another_file_says_which_machine_it_was():
    con = loaded("job_id | make | serial\nJ1 | Orle | x1\nJ2 | Orle | x1")
    assert con.execute(
        "select count(distinct machine_no), min(machine_rung) from tables.jobs"
    ).fetchall() == [(1, "make + serial")]


def test_rows_match_by_address_and_day():
    con = loaded(
        """
        site_id | finished_at | part_no | action
        s1      | 2026-01-12  | P1      | replace
        s2      | 2026-01-09  | P2      | replace
        s2      | 2026-01-10  | P3      | replace
                | 2026-01-09  | P4      | replace
        s2      |             | P5      | replace
        """,
        layouts=BY_ADDRESS,
    )
    assert parts(con) == [("J1", 2, "P1"), ("J2", 1, "P2")]
    assert reasons(con) == [
        ("site_id", "no visit of diary that day at that address"),
        ("site_id", "no address"),
        ("finished_at", "no date"),
    ]


def test_rows_match_by_address_and_day_of_the_report():
    con = loaded(
        "site_id | reported_at | part_no\ns1 | 2026-01-05 | P1\ns2 | 2026-01-05 | P2", layouts=BY_REPORT
    )
    assert parts(con) == [("J1", 2, "P1")]
    assert reasons(con) == [("site_id", "no visit of diary that day at that address")]


def test_two_visits_that_day_at_that_address_are_told_apart_by_the_machine_only():
    diary = """
        job_id | site_id | unit_type | finished_at      | outcome
        J1     | s1      | washer    | 2026-01-06T10:00 | fixed
        J2     | s1      | dryer     | 2026-01-06T11:00 | fixed
        """
    bill = """
        site_id | unit_type | finished_at | part_no
        s1      |           | 2026-01-06  | P1
        s1      | dryer     | 2026-01-06  | P2
        """
    con = loaded(bill, diary=diary, layouts=BY_ADDRESS)
    assert parts(con) == [("J2", 1, "P2")]
    assert reasons(con) == [("site_id", "two visits that day at that address")]


def test_row_without_a_number_falls_back_on_address_and_day():
    con = loaded(
        """
        job_id | site_id | finished_at | part_no
               | s2      | 2026-01-09  | P1
               | s2      |             | P2
        J7     | s2      | 2026-01-09  | P3
        """
    )
    assert parts(con) == [("J2", 1, "P1")]
    assert reasons(con) == [("job_id", "no job number"), ("job_id", "no visit of diary has this number")]


def test_unmatched_row_is_taken_up_when_a_later_load_brings_its_visit():
    bill = LogFile("job_id | part_no\nJ9 | P1", load_no=1, layout="bills")
    later = LogFile("job_id | unit_type | reported_at\nJ9 | washer | 2026-01-05", load_no=2, layout="diary")
    alone = built(bill, layouts=BY_NUMBER, facts=False)
    assert reasons(alone) == [("job_id", "no visit of diary has this number")]
    assert parts(built(bill, later, layouts=BY_NUMBER, facts=False)) == [("J9", 1, "P1")]


def test_rows_repeated_within_and_between_completing_files_count_once():
    bill = "job_id | part_no\nJ1 | P1\nJ1 | P1\nJ2 | P2"
    longer = "job_id | part_no\nJ2 | P2\nJ2 | P3"
    con = loaded(bill, longer)
    assert fates(con, 2, 3) == ["used", "repeated", "used", "repeated", "used"]
    may_repeat = {"bills": Layout(completes=Completes("diary"), lines_may_repeat=True)}
    con = loaded(bill, bill + "\nJ1 | P1", layouts=may_repeat)
    assert fates(con, 2, 3) == ["used"] * 3 + ["repeated"] * 3 + ["used"]


def test_completing_rows_never_replace_and_order_of_loads_does_not_matter():
    bill = LogFile("job_id | outcome | part_no\nJ1 | temporary | P1", load_no=1, layout="bills")
    diary = LogFile(DIARY, load_no=2, layout="diary")
    con = built(bill, diary, layouts=BY_NUMBER, facts=False)
    assert_table(con, "tables.fates", "file_no | fate\n1 | used\n2 | used\n2 | used\n2 | used")
    assert_table(con, "tables.jobs", "job_id | outcome\nJ1 | fixed\nJ2 | fixed")


def test_number_in_two_sources_names_no_job():
    con = loaded("job_id | part_no\nJ1 | P1")
    con.execute(
        "insert into received.rows by name select * replace ('other' as source, record + 9 as record) from received.rows where file_no = 1"
    )
    from pipeline import normalise
    from pipeline.settings import Settings
    from pipeline.sql import run_folder

    normalise.run(con, Settings(), BY_NUMBER)
    run_folder(con, "tables")
    assert reasons(con) == [("job_id", "several jobs of diary have this number")]


@pytest.mark.parametrize("layouts", [BY_NUMBER, BY_ADDRESS])
def test_joined_jobs_are_completed_too(layouts):
    diary = """
        unit_id | site_id | unit_type | finished_at | outcome
        u1      | s1      | washer    | 2026-01-06  | return booked
        u1      | s1      | washer    | 2026-01-12  | fixed
        """
    if layouts is BY_NUMBER:
        diary = """
            job_id | unit_id | site_id | unit_type | finished_at | outcome
            1234   | u1      | s1      | washer    | 2026-01-06  | return booked
            1234-1 | u1      | s1      | washer    | 2026-01-12  | fixed
            """
    con = loaded(
        "job_id | site_id | finished_at | part_no\n1234-1 | s1 | 2026-01-12 | P1",
        diary=diary,
        layouts=layouts,
    )
    assert con.execute("select visit_no, part_no from tables.lines where part_no = 'P1'").fetchall() == [
        (2, "P1")
    ]
    assert con.execute("select count_visits from tables.jobs").fetchall() == [(2,)]
