"""Where a date, number or answer should be, anything else keeps only its shape."""

import polars as pl
import pytest

from pipeline.intake.typed import readable, shape


@pytest.mark.parametrize(
    "cell",
    [
        *(
            "2026-03-04",
            "2026-03-04T14:05:33Z",
            "2026-03-04 14:05:33.25+01:00",
            "03/04/26",
            "3.4.2026",
            "4-Mar",
            "Tue 4th",
            "wk 12",
            "46085",
        ),
        *(
            "20260304",
            "202603041405",
            "12/3/26 9:05 am",
            "4. März 2026",
            "2019",
            "1h30",
            "1:30",
            "90 min",
            "1,5 h",
            "1 1/2",
            "½",
            "½ hr",
            "45'",
        ),
        *(
            "£85.00",
            "85,-",
            "1.234,50",
            "(85.00)",
            "85 inc",
            "FOC",
            "n/c",
            "85+VAT",
            "x2",
            "2 off",
            "pair",
            "1.2E+35",
            "46085.5868055556",
            "0.041666666666667",
            "1.33333333333333",
            "4 March 2026 14:05:33",
            "20260304 14:05",
            "PT1H30M",
            "2 pairs",
            "85 zzgl",
            "yes",
            "nicht bestanden",
        ),
    ],
)
def test_what_may_be_read_stays(cell):
    assert readable(pl.Series([cell]))[0] == cell


@pytest.mark.parametrize(
    ("cell", "left"),
    [
        ("Quillby Clinic", "Aaaaaaa Aaaaaa"),
        ("jane", "aaaa"),
        ("07700 900123", "99999 999999"),
        ("020-7946-0958", "999-9999-9999"),
        ("07700.900123", "[99999.999999]"),
        ("2079460958", "[9999999999]"),
        ("202613041405", "[999999999999]"),
        ("12 Larkspur Row", "99 Aaaaaaaa Aaa"),
        ("passed by Quillby", "aaaaaa aa Aaaaaaa"),
        ("ÉÜ", "AA"),
        ("gate 4711", "aaaa 9999"),
        ("away to 14 June", "aaaa aa 99 Aaaa"),
    ],
)
def test_anything_else_keeps_its_shape_only(cell, left):
    assert readable(pl.Series([cell]))[0] == left


@pytest.mark.parametrize(
    ("cell", "left"),
    [("yes", "yes"), ("1", "1"), ("passed", "passed"), ("4711", "9999"), ("65-85-22", "99-99-99")],
)
def test_an_answer_holds_no_number(cell, left):
    assert readable(pl.Series([cell]), is_answer=True)[0] == left


def test_shape_of_a_shape_is_itself():
    assert shape(shape("Jane 12, é")) == shape("Jane 12, é") == "Aaaa 99, a"


def test_null_stays_null():
    assert readable(pl.Series([None, "x y z Roe"], dtype=pl.String)).to_list() == [None, "a a a Aaa"]


@pytest.mark.parametrize(
    "cell", ["D-PT 1429", "M-ST 3658", "MO12 DEC", "12-PT-34", "W1 2ST", "2141 EX", "6868PT", "FR-12-H"]
)
def test_plates_and_postcodes_of_nothing_but_words_of_time_keep_their_shape_only(cell):
    assert readable(pl.Series([cell])).to_list() == [shape(cell)]


@pytest.mark.parametrize("cell", ["04-MAR-26", "4-Mar-2026", "1030 AM", "2 PM", "12 MAY 2026"])
def test_days_and_hours_in_capitals_stay(cell):
    assert readable(pl.Series([cell])).to_list() == [cell]
