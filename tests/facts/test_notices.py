"""facts.notices: which machines a notice may concern, by make and model."""

from tests.builds import built
from tests.table_text import assert_table

LOG = """
job_id | unit_id | unit_type | make  | model  | reported_at
J1     | U1      | washer    | Orle  | W 200  | 2026-01-05
J2     | U1      | washer    | ORLE  | w-200  | 2026-02-05
J3     | U2      | washer    | Orle  | W200   | 2026-01-09
J4     |         | dryer     | Orle  | D 1    | 2026-03-01
J5     | U4      | dryer     | Zembl | W 200  | 2026-03-02
"""


def test_notice_concerns_the_machines_of_its_make_and_model_however_written():
    con = built(LOG, notices="make | model | text | serial_from\norle | w 200 | unplug it | A1")
    assert_table(
        con,
        "facts.notices",
        """
        count_machines | count_jobs | count_jobs_unknown | last_reported_on | last_job_id | serial_from
        2              | 3          | 0                  | 2026-02-05       | J2          | A1
        """,
    )


def test_notice_without_a_model_concerns_all_of_the_make():
    con = built(LOG, notices="make | model | text\nOrle | | unplug it")
    assert_table(con, "facts.notices", "count_machines | count_jobs | count_jobs_unknown\n2 | 4 | 1")


def test_notice_about_nothing_in_the_log_concerns_nothing():
    con = built(LOG, notices="make | model | text | reference\nQuill | | look | R1\n | | look | R2")
    assert_table(con, "facts.notices", "reference | count_machines | last_reported_on\nR1 | 0 |\nR2 | 0 |")


def test_listed_machine_that_was_never_seen_is_concerned_too():
    machines = "unit_id | unit_type | make | model\nU9 | washer | Orle | W 200"
    con = built(LOG, machines=machines, notices="make | model | text\nOrle | W 200 | unplug it")
    assert_table(con, "facts.notices", "count_machines | count_jobs | last_job_id\n3 | 3 | J2")
