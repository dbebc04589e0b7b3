"""Which ways of writing a fault code are one, and that a code stays within its family of machines."""

import pytest

from pipeline.normalise.fault_codes import code_key
from tests.builds import normalised
from tests.table_text import assert_table


@pytest.mark.parametrize(
    "text", ["E-12", "E12", "e 12", "err E12", "Error: E012", "Fehlercode E.12", "Code E12", "storing E-12"]
)
def test_ways_of_writing_one_code(text):
    assert code_key(text) == "E12"


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("err 12", "12"),
        ("12", "12"),
        ("F12/E4", "F12/E4"),
        ("F 12 and E04", "F12/E4"),
        ("flashes 6 then 3", "B6-3"),
        ("blinkt 6 mal", "B6"),
        ("5E", "5E"),
        ("F0A", "F0A"),
    ],
)
def test_what_is_another_code(text, key):
    assert code_key(text) == key


@pytest.mark.parametrize("text", ["no code", "None", "-", "kein Fehlercode", "geen foutcode", "aucun code"])
def test_no_code_is_none(text):
    assert code_key(text) is None


def test_codes_are_shown_as_most_often_written():
    con = normalised(
        """
        job_id | unit_type | reported_at | fault_code
        J1     | washer    | 2026-01-05  | E-12
        J2     | washer    | 2026-01-05  | E-12
        J3     | washer    | 2026-01-05  | error E012
        J4     | washer    | 2026-01-05  | no code
        J5     | washer    | 2026-01-05  | 12
        """
    )
    assert_table(
        con,
        "(select job_id, fault_code from normalise.lines)",
        "job_id | fault_code\nJ1 | E-12\nJ2 | E-12\nJ3 | E-12\nJ4 |\nJ5 | 12",
    )
