"""facts.trips_in_vain and facts.first_loads."""

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table


def test_trip_in_vain_needs_somebody_who_set_out():
    con = drawn(
        tables__visits="""
        visit_key:bigint | job_no:bigint | outcome   | started_at:timestamp | started_on:date | finished_on:date | booked_for_on:date | hands_on_min:double | travel_min:double
        1                | 1             | no access |                      |                 | 2026-02-03       | 2026-02-02         |                     |
        2                | 2             | cancelled |                      |                 |                  | 2026-02-04         |                     | 20
        3                | 3             | cancelled | 2026-02-05 10:00     | 2026-02-05      |                  |                    | 5                   | 20
        4                | 4             | cancelled |                      |                 |                  | 2026-02-06         |                     |
        5                | 5             | fixed     | 2026-02-07 10:00     | 2026-02-07      | 2026-02-07       |                    | 30                  | 20
        """
    )
    make(con, "trips_in_vain")
    assert_table(
        con,
        "facts.trips_in_vain",
        """
        visit_key | job_no | visit_on   | minutes
        1         | 1      | 2026-02-03 | 0
        2         | 2      | 2026-02-04 | 20
        3         | 3      | 2026-02-05 | 25
        """,
    )


def test_job_came_with_the_load_that_first_held_a_row_of_it():
    con = drawn(
        normalise__lines="""
        job_no:bigint | load_no:integer
        1             | 1
        1             | 2
        2             | 2
        3             | 2
        9             | 1
                      | 1
        """,
        tables__joined_jobs="given_no:bigint | job_no:bigint\n9 | 3",
    )
    make(con, "first_loads")
    assert_table(con, "facts.first_loads", "job_no | first_load_no\n1 | 1\n2 | 2\n3 | 1")
