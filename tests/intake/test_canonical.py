"""One way of writing, whatever the type of a cell or the hand that wrote a text."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from math import isnan

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.canonical import column_text, number_text, uniform, uniform_cells


@pytest.mark.parametrize(
    ("values", "texts"),
    [
        (
            [48.0, 0.1, 1e-7, 1e22, -0.0, float("nan"), None],
            ["48", "0.1", "0.0000001", "1" + "0" * 22, "0", "", ""],
        ),
        ([1, -3, None], ["1", "-3", ""]),
        ([True, False, None], ["yes", "no", ""]),
        ([Decimal("12.50"), Decimal("7.00"), Decimal(100)], ["12.5", "7", "100"]),
        ([date(2024, 3, 4), None], ["2024-03-04", ""]),
        (
            [datetime(2024, 3, 4), datetime(2024, 3, 4, 14, 5), datetime(2024, 3, 4, 14, 5, 9, 500_000)],
            ["2024-03-04", "2024-03-04T14:05", "2024-03-04T14:05:09.5"],
        ),
        ([time(9, 5), time(14, 5, 30)], ["9:05", "14:05:30"]),
        ([timedelta(hours=36, minutes=5), timedelta(minutes=-40), None], ["36:05", "-0:40", ""]),
        (["00123", " a ", None], ["00123", " a ", ""]),
        ([b"caf\xc3\xa9", b"\xff"], ["café", "\N{REPLACEMENT CHARACTER}"]),
        ([None, None], ["", ""]),
    ],
)
def test_typed_cells_are_written_one_way(values, texts):
    assert column_text(pl.Series("a", values)).to_list() == texts


def test_moment_of_a_zone_is_written_in_utc():
    berlin = pl.Series([datetime(2024, 7, 1, 14, 5)]).dt.replace_time_zone("Europe/Berlin")
    assert column_text(berlin).to_list() == ["2024-07-01T12:05Z"]


@pytest.mark.parametrize("unit", ["ms", "us", "ns"])
def test_moment_beyond_any_calendar_is_a_number_that_no_date_can_be_read_in(unit):
    far = pl.Series([2**62, None, 0], dtype=pl.Int64).cast(pl.Datetime(unit))
    shown = ["2116-02-20T23:53:38.427387904" if unit == "ns" else str(2**62), "", "1970-01-01"]
    assert column_text(far).to_list() == shown


@pytest.mark.parametrize(
    ("written", "same"),
    [
        ("48.00", "48"),
        ("0.0", "0"),
        ("-0.00", "0"),
        ("1.50", "1.5"),
        ("2024-03-04 14:05", "2024-03-04T14:05"),
        ("2024-03-04T14:05:00", "2024-03-04T14:05"),
        ("2024-03-04T14:05:10.500", "2024-03-04T14:05:10.5"),
        ("2024-03-04T00:00", "2024-03-04"),
        ("2024-03-04 00:00:00.000", "2024-03-04"),
        ("2024-03-04T14:05:00+00:00", "2024-03-04T14:05Z"),
        ("2024-03-04T14:05:30+0200", "2024-03-04T14:05:30+0200"),
    ],
)
def test_texts_that_mean_the_same_are_written_the_same(written, same):
    assert uniform(pl.Series([written])).to_list() == [same]


@pytest.mark.parametrize(
    "text", ["007.0", "10", "1.10.0", "x0", "2024-03-04 14:05 or later", "100", "", "-10", "0"]
)
def test_texts_that_are_no_such_number_or_moment_stay(text):
    assert uniform(pl.Series([text])).to_list() == [text]


@given(st.lists(st.one_of(st.floats(), st.integers(-(10**6), 10**6).map(lambda n: n / 100)), min_size=1))
def test_number_is_the_shortest_text_that_means_it_and_is_uniform_already(numbers):
    texts = column_text(pl.Series(numbers, dtype=pl.Float64)).to_list()
    assert texts == [number_text(number) for number in numbers]
    assert uniform(pl.Series(texts)).to_list() == texts
    assert all("e" not in text for text in texts)
    assert all(isnan(number) or float(text) == number for number, text in zip(numbers, texts, strict=True))


@given(st.lists(st.text(st.sampled_from("0159.-T: +Zx"), max_size=24), min_size=1))
def test_writing_twice_changes_nothing_and_a_frame_is_written_as_its_columns(texts):
    cells = pl.Series("0", texts)
    once = uniform(cells)
    assert uniform(once).to_list() == once.to_list()
    assert uniform_cells(cells.to_frame()).to_series().to_list() == once.to_list()
