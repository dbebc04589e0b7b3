"""tables.parts, tables.stock, tables.notices, tables.list_fates."""

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
