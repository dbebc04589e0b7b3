"""The ladder of machine identity, and what is known of a machine: tables.machine_list, tables.serial_units,
tables.numbered_machines, tables.site_types, tables.given_keys, tables.machine_numbers, tables.job_machines, tables.machines."""

import pytest

from tests.builds import built
from tests.table_text import assert_table

HEADER = "job_id | unit_id | make | serial | site_id | site_kind | unit_type | model | reported_at"


def rungs(*rows, machines=None):
    """(job, number of its machine, rung) of each job; machines are numbered in the order in which they appear."""
    lists = {"machines": machines} if machines else {}
    con = built("\n".join((HEADER, *(f"{row} | 2026-01-05" for row in rows))), facts=False, **lists)
    sql = "select job_id, machine_no, machine_rung from tables.jobs order by job_id"
    found, seen = [], {}
    for job, machine, rung in con.execute(sql).fetchall():
        found.append((job, None if machine is None else seen.setdefault(machine, len(seen) + 1), rung))
    return found


def test_number_of_the_machine_comes_first():
    assert rungs(
        "J1 | u1 | Orle | s1 | home1 | household | washer | A",
        "J2 | u1 | Orle | s9 | home2 | household | dryer | B",
        "J3 | u2 | Orle | s1 | home1 | household | washer | A",
    ) == [("J1", 1, "unit_id"), ("J2", 1, "unit_id"), ("J3", 2, "unit_id")]


def test_serial_counts_with_its_make():
    assert rungs(
        "J1 | | Orle | s1 | | | washer | A",
        "J2 | | ORLE | s1 | | | washer |",
        "J3 | | Vann | s1 | | | washer | A",
    ) == [("J1", 1, "make + serial"), ("J2", 1, "make + serial"), ("J3", 2, "make + serial")]


def test_serial_without_make_is_no_identity():
    assert rungs("J1 | | | s1 | | | washer | A") == [("J1", None, "none")]


def test_machine_with_its_number_on_some_jobs_and_its_serial_on_others_is_one():
    assert rungs(
        "J1 | u1 | Orle | s1 | | | washer | A",
        "J2 | | Orle | s1 | | | washer | A",
        "J3 | u1 | | | | | washer | A",
    ) == [("J1", 1, "unit_id"), ("J2", 1, "make + serial"), ("J3", 1, "unit_id")]


def test_serial_is_known_from_the_machine_list():
    listed = "unit_id | unit_type | make | serial\nu7 | washer | Orle | s1"
    found = rungs("J1 | | Orle | s1 | | | washer | A", "J2 | u7 | | | | | washer | A", machines=listed)
    assert found == [("J1", 1, "make + serial"), ("J2", 1, "unit_id")]


def test_serial_beside_two_numbers_stands_for_itself():
    assert rungs(
        "J1 | u1 | Orle | s1 | | | washer | A",
        "J2 | u2 | Orle | s1 | | | washer | A",
        "J3 | | Orle | s1 | | | washer | A",
    ) == [("J1", 1, "unit_id"), ("J2", 2, "unit_id"), ("J3", 3, "make + serial")]


def test_household_with_one_machine_of_a_kind_is_assumed_to_be_one_machine():
    assert rungs(
        "J1 | | | | home1 | household | washer | A",
        "J2 | | | | home1 | household | washer |",
        "J3 | | | | home1 | household | dryer | A",
        "J4 | | | | home2 | household | washer | A",
    ) == [
        ("J1", 1, "site + type + model, assumed"),
        ("J2", 1, "site + type, assumed"),
        ("J3", 2, "site + type + model, assumed"),
        ("J4", 3, "site + type + model, assumed"),
    ]


@pytest.mark.parametrize("kind", ["laundry", "café", "letting agent", "other", ""])
def test_nothing_is_assumed_outside_single_households(kind):
    assert rungs(f"J1 | | | | place | {kind} | washer | A") == [("J1", None, "none")]


def test_job_that_does_not_name_the_kind_of_site_has_that_of_the_sites_other_jobs():
    found = rungs("J1 | | | | home1 | household | washer | A", "J2 | | | | home1 | | washer | A")
    assert found[1] == ("J2", 1, "site + type + model, assumed")


def test_two_models_of_a_kind_in_a_household_are_several():
    assert rungs(
        "J1 | | | | home1 | household | washer | A", "J2 | | | | home1 | household | washer | B"
    ) == [
        ("J1", None, "assumed, several"),
        ("J2", None, "assumed, several"),
    ]


def test_two_makes_of_a_kind_in_a_household_are_several():
    found = rungs("J1 | | Orle | | h1 | household | washer |", "J2 | | Vann | | h1 | household | washer |")
    assert [rung for _, _, rung in found] == ["assumed, several"] * 2
    found = rungs("J1 | | Orle | | h1 | household | washer |", "J2 | | ORLE | | h1 | household | washer |")
    assert [machine for _, machine, _ in found] == [1, 1]


def test_line_without_serial_joins_the_one_numbered_machine_of_that_kind():
    assert rungs(
        "J1 | | Orle | s1 | home1 | household | washer | A", "J2 | | | | home1 | household | washer |"
    ) == [("J1", 1, "make + serial"), ("J2", 1, "site + type, assumed")]


def test_with_two_numbered_machines_of_that_kind_it_joins_none():
    found = rungs(
        "J1 | | Orle | s1 | home1 | household | washer | A",
        "J2 | | Orle | s2 | home1 | household | washer | A",
        "J3 | | | | home1 | household | washer | A",
    )
    assert found[2] == ("J3", None, "assumed, several")


def test_machine_list_counts_among_the_machines_of_a_site():
    listed = "unit_id | unit_type | site_id\nu1 | washer | home1\nu2 | washer | home1\nu3 | dryer | home1"
    found = rungs(
        "J1 | | | | home1 | household | washer | A",
        "J2 | | | | home1 | household | dryer | A",
        machines=listed,
    )
    assert found == [("J1", None, "assumed, several"), ("J2", 1, "site + type + model, assumed")]


def test_kind_unknown_is_nothing_to_assume_from():
    assert rungs("J1 | | | | home1 | household | kind unknown |") == [("J1", None, "none")]


def test_a_job_is_on_one_machine_whatever_its_later_lines_leave_out():
    assert rungs("J1 | u1 | Orle | s1 | | | washer | A", "J1 | | | | | | washer |") == [("J1", 1, "unit_id")]


def test_what_is_known_of_a_machine():
    con = built(
        """
        job_id | unit_id | unit_type | make | reported_at | finished_at | outcome                | age_years
        J1     | u1      | washer    | Orle | 2025-01-05  | 2025-01-07  | fixed                  | 5
        J2     | u1      | washer    | Orl  | 2025-06-05  | 2025-06-07  | beyond economic repair |
        J3     | u2      | dryer     |      | 2025-02-01  |             | return booked          |
        """,
        machines="""
        unit_id | unit_type | make | installed_on | removed_on | site_id
        u1      | washer    | Orla | 2019-12-01   | 2025-07-01 | home1
        u9      | freezer   | Vann |              |            |
        """,
        facts=False,
    )
    assert_table(
        con,
        "tables.machines",
        """
        unit_id | unit_type | make | is_listed | first_finish_on | last_contact_on | ended_on   | ended_by               | age_origin_on
        u1      | washer    | Orla | yes       | 2025-01-07      | 2025-06-07      | 2025-06-07 | beyond economic repair | 2019-12-01
        u2      | dryer     |      | no        |                 | 2025-02-01      |            |                        |
        u9      | freezer   | Vann | yes       |                 |                 |            |                        |
        """,
    )


def test_machine_ends_when_it_is_removed():
    con = built(
        "job_id | unit_id | unit_type | reported_at\nJ1 | u1 | washer | 2025-01-05",
        machines="unit_id | unit_type | removed_on\nu1 | washer | 2025-07-01",
        facts=False,
    )
    assert_table(con, "tables.machines", "ended_on | ended_by\n2025-07-01 | removed")
