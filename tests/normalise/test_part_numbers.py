"""Which ways of writing a part number are one part."""

import pytest

from pipeline.normalise.part_numbers import match_key
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
