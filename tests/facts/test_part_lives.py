"""facts.part_lives: only work on the same part of the same machine ends a part's life."""

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table

WORKS = (
    "job_no:bigint | machine_no:bigint | part_key | action | reported_at:timestamp | finished_at:timestamp"
)


def lives(works, machines="machine_no:bigint | ended_on:date\n1 |\n2 |"):
    con = drawn(facts__works=f"{WORKS}\n{works}", tables__machines=machines)
    con.execute(
        """
        create table facts.job_parts as
        select *, cast(reported_at as date) as reported_on, cast(finished_at as date) as finished_on,
            true as is_fault, finished_at is not null as is_index
        from facts.works
        """
    )
    make(con, "part_lives")
    return con


def test_life_ends_with_the_next_work_on_the_part_whatever_came_between():
    con = lives(
        """
        1 | 1 | P | replace | 2026-01-01 08:00 | 2026-01-03 10:00
        2 | 1 | Q | replace | 2026-01-20 08:00 | 2026-01-21 10:00
        3 | 2 | P | replace | 2026-02-01 08:00 | 2026-02-02 10:00
        4 | 1 | P | replace | 2026-03-20 08:00 | 2026-03-21 10:00
        """
    )
    expected = "job_no | next_on:date\n1 | 2026-03-20\n2 |\n3 |\n4 |"
    assert_table(con, "facts.part_lives", expected)


def test_second_cleaning_of_a_part_is_told_apart_from_the_first():
    con = lives(
        """
        1 | 1 | P | clean   | 2026-01-01 08:00 | 2026-01-03 10:00
        2 | 1 | P | clean   | 2026-02-01 08:00 | 2026-02-03 10:00
        3 | 1 | P | free    | 2026-03-01 08:00 | 2026-03-03 10:00
        4 | 1 | P | replace | 2026-04-01 08:00 | 2026-04-03 10:00
        5 | 2 | P | clean   | 2026-04-01 08:00 | 2026-04-03 10:00
        6 | 1 | P | clean   | 2026-05-01 08:00 | 2026-05-03 10:00
        """
    )
    # The sixth cleans the new part for the first time.
    expected = (
        "job_no | action\n1 | clean\n2 | clean, again\n3 | free, again\n4 | replace\n5 | clean\n6 | clean"
    )
    assert_table(con, "facts.part_lives", expected)
    before = con.execute("select job_no from facts.part_lives where is_cleaned_before order by 1").fetchall()
    assert before == [(2,), (3,), (4,)]


def test_work_of_a_job_that_is_still_open_ends_a_life_and_begins_none():
    con = lives(
        """
        1 | 1 | P | replace | 2026-01-01 08:00 | 2026-01-03 10:00
        2 | 1 | P | replace | 2026-02-01 08:00 |
        """
    )
    assert_table(con, "facts.part_lives", "job_no | next_on:date\n1 | 2026-02-01")


def test_report_at_the_moment_of_the_finish_is_no_end():
    con = lives(
        """
        1 | 1 | P | replace | 2026-01-01 08:00 | 2026-01-03 10:00
        2 | 1 | P | replace | 2026-01-03 10:00 |
        3 | 1 | P | replace | 2026-01-03 10:01 |
        """
    )
    assert_table(con, "facts.part_lives", "job_no | next_on:date\n1 | 2026-01-03")


def test_machine_that_left_later_bounds_the_life():
    con = lives(
        "1 | 1 | P | replace | 2026-01-01 08:00 | 2026-01-03 10:00\n"
        "2 | 2 | P | replace | 2026-01-01 08:00 | 2026-01-03 10:00",
        machines="machine_no:bigint | ended_on:date\n1 | 2026-05-01\n2 | 2025-05-01",
    )
    assert_table(con, "facts.part_lives", "job_no | removed_on:date\n1 | 2026-05-01\n2 |")
