"""Which ways of writing a part number are one part."""

import pytest

from pipeline.normalise.part_keys import PartKeys, match_key
from pipeline.vocabulary.no_parts import no_parts
from tests.builds import normalised
from tests.table_text import assert_table


@pytest.mark.parametrize("text", ["12-34.5", "12 34/5", "12345", "１２３４５", " 1.2-3 4/5 "])
def test_spacing_and_marks_do_not_count(text):
    assert match_key(text) == "12345"


def test_leading_zeros_letters_and_case():
    assert match_key("00123") == "00123"
    assert match_key("ab-1") == match_key("AB 1") == "AB1"
    assert match_key("O1") != match_key("01")


def test_nothing_is_left_of_marks_alone():
    assert match_key(" -/. ") is None


def test_fits_are_kinds_of_machine_in_the_logs_own_words():
    con = normalised(
        "job_id | unit_type | reported_at\nJ1 | W/M | 2026-01-05",
        parts="part_no | part_name | fits\n1-2 | pump | w/m|Hat press\n3 | |",
    )
    assert_table(con, "normalise.part_fits", "part_key | unit_type\n12 | hat press\n12 | washer")


def test_kinds_only_named_by_the_parts_list_are_read_too():
    con = normalised(
        "job_id | unit_type | reported_at\nJ1 | dryer | 2026-01-05",
        parts="part_no | fits\n1 | Washing machine|d/w",
    )
    assert_table(con, "normalise.part_fits", "part_key | unit_type\n1 | dishwasher\n1 | washer")


KEYS = PartKeys(("00123456", "0077", "077", "AB-108", "X0O1"), no_parts())


@pytest.mark.parametrize(
    ("written", "key", "rule"),
    [
        ("00123456", "00123456", "as written"),
        ("123456", "00123456", "leading zeros lost"),
        ("77", "77", "as written"),  # of two listed numbers with zeros in front nobody can tell which
        ("1.2E+35", None, "lost to a spreadsheet"),
        ("1,2E+05", None, "lost to a spreadsheet"),
        ("12E34", "12E34", "as written"),
        ("AB-1O8", "AB108", "one sign mistaken"),
        ("A8-108", "AB108", "one sign mistaken"),
        ("A8-1O8", "A81O8", "as written"),  # two signs are too many for a slip
        ("LABOUR", None, "no part"),
        ("1234567 (was 1234560)", "1234567", "with its former number"),
        ("12-34 (formerly 11.22)", "1234", "with its former number"),
        ("123456 (old 98765)", "00123456", "leading zeros lost"),
        ("1234567 (2)", "1234567(2)", "as written"),
    ],
)
def test_damaged_number_is_looked_up_and_never_guessed(written, key, rule):
    assert KEYS.read(written) == (key, rule)


def test_without_a_parts_list_nothing_is_looked_up():
    assert PartKeys((), no_parts()).read("123456") == ("123456", "as written")


def test_row_with_a_lost_number_keeps_the_name_of_its_part():
    con = normalised(
        "job_id | unit_type | reported_at | part_no | part_name\nJ1 | washer | 2026-01-05 | 1.2E+35 | drain pump",
    )
    assert_table(
        con,
        "(select part_no, part_key, part_name from normalise.lines)",
        "part_no | part_key | part_name\n | | drain pump",
    )
