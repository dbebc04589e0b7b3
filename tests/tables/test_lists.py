"""tables.parts, tables.stock, tables.notices, tables.list_fates, tables.oddities."""

from pipeline.settings import Settings
from tests.builds import built
from tests.table_text import assert_table

LOG = """
job_id | unit_type | reported_at | part_no | part_name | action
J1     | washer    | 2026-01-05  | 12 34   | pump      | replace
J2     | washer    | 2026-01-05  | 12-34   | the pump  | replace
J3     | washer    | 2026-01-05  | 12-34   | the pump  | replace
J4     | washer    | 2026-01-05  | 77/1    |           | replace
J5     | washer    | 2026-01-05  | 77.1    |           | replace
J6     | washer    | 2026-01-05  | 0077    |           | replace
"""


def test_part_is_shown_as_most_often_written_ties_by_the_smallest():
    con = built(LOG, facts=False)
    expected = "part_key | part_no | part_name\n1234 | 12-34 | the pump\n771 | 77.1 |\n0077 | 0077 |"
    assert_table(con, "tables.parts", expected)


def test_parts_list_comes_first_and_parts_never_used_are_there():
    parts = "part_no | part_name | unit_cost | safety_part\n12.34 | drain pump | 38.5 | no\n99 | door lock | 12 | yes"
    con = built(LOG, parts=parts, facts=False)
    assert_table(
        con,
        "tables.parts",
        """
        part_key | part_no | part_name  | unit_cost_minor | is_safety_part | is_listed
        1234     | 12.34   | drain pump | 3850            | no             | yes
        99       | 99      | door lock  | 1200            | yes            | yes
        771      | 77.1    |            |                 | no             | no
        0077     | 0077    |            |                 | no             | no
        """,
    )


def test_rows_of_lists_have_a_fate_too():
    con = built(
        LOG,
        stock="place | part_no | quantity | bought_on\nvan 1 | 12-34 | 2 | 2025-05-01\nvan 1 | 77 | two |",
        notices="make | text | dated_on\nOrle | unplug it | 2025-01-01\nOrle | | 2025-01-01",
        facts=False,
    )
    assert_table(con, "tables.stock", "place | part_key | quantity\nvan 1 | 1234 | 2")
    assert_table(con, "tables.notices", "make | text\nOrle | unplug it")
    assert_table(
        con,
        "tables.list_fates",
        """
        file_no | record | fate      | column_name | reason                     | shape
        2       | 1      | used      |             |                            |
        2       | 2      | set aside | quantity    | cannot be read as a number | aaa
        3       | 1      | used      |             |                            |
        3       | 2      | set aside | text        | no text                    |
        """,
    )


def test_oddities_are_counted_and_the_lines_used():
    con = built(
        """
        job_id | unit_type | visit_no | reported_at | started_at | finished_at | hands_on_min | made_on | installed_on | age_years | quantity
        J1     | washer    | first    | 2026-01-05  | 2026-01-04 | 2026-01-06  | 481          | 2020    | 2019         |           | 0
        J2     | washer    | 1        | 2026-01-05  | 2026-01-07 | 2026-01-06  | 30           |         | 2026-02      | 122       | 1
        J3     | washer    | 1        | 2026-01-05  | 2026-01-05 | 2026-01-06  | 30           | 2019    | 2020         | 6         | 1
        """,
        facts=False,
    )
    assert con.execute("select count(*) from tables.lines").fetchall() == [(3,)]
    assert_table(
        con,
        "tables.oddities",
        """
        column_name  | oddity                               | count_lines
        started_at   | started before reported              | 1
        finished_at  | finished before started              | 1
        hands_on_min | more than eight hours at one machine | 1
        visit_no     | no number                            | 1
        installed_on | installed before it was made         | 1
        installed_on | installed after the report           | 1
        age_years    | older than a hundred years           | 1
        quantity     | nothing or less                      | 1
        """,
    )


def test_return_of_no_job_that_is_known_is_counted():
    con = built(
        """
        job_id | return_of | unit_type | reported_at
        J1     |           | washer    | 2026-01-05
        J2     | J1        | washer    | 2026-01-06
        J3     | J3        | washer    | 2026-01-07
        J4     | J77       | washer    | 2026-01-08
        """,
        facts=False,
    )
    assert_table(
        con, "tables.oddities", "column_name | oddity | count_lines\nreturn_of | names no other job | 2"
    )


def test_odd_hours_are_counted_by_column():
    con = built(
        "job_id | unit_type | reported_at\nJ1 | washer | 2026-03-29T01:30\nJ2 | washer | 2026-10-25T01:30",
        settings=Settings(time_zone="Europe/London"),
        facts=False,
    )
    expected = (
        "column_name | oddity | count_lines\nreported_at | skipped hour | 1\nreported_at | doubled hour | 1"
    )
    assert_table(con, "tables.oddities", expected)


def test_stock_without_a_quantity_or_below_nothing_is_set_aside():
    stock = "place | part_no | quantity\nvan 1 | 12-34 | 0\nvan 1 | 77 |\nvan 1 | 77/1 | -2\nvan 1 | 78 | 1.5"
    con = built(LOG, stock=stock, facts=False)
    assert_table(con, "tables.stock", "part_no | quantity\n12-34 | 0\n78 | 1.5")
    assert_table(
        con,
        "tables.list_fates",
        """
        record | fate      | column_name | reason      | shape
        1      | used      |             |             |
        2      | set aside | quantity    | no quantity |
        3      | set aside | quantity    | negative    | -9
        4      | used      |             |             |
        """,
    )
