"""Figures in words: counts before percentages below 50, numbers with their units, nothing sharper than it is."""

import pytest

from dashboards import words


def share(*cells):
    return dict(zip(("numerator", "denominator", "value", "low", "high", "sample"), cells, strict=True))


def test_below_50_counts_come_first_and_the_range_is_in_tenths():
    told = words.share_told(share(9, 14, 9 / 14, 0.388, 0.837, "enough"))
    assert told == "9 of 14; likely between 4 and 8 in every 10"


def test_from_50_on_a_percentage_stands_beside_the_counts():
    told = words.share_told(share(22, 92, 0.239, 0.163, 0.336, "enough"))
    assert told == "22 of 92, that is 24\u00a0% (likely 16 to 34\u00a0%)"


def test_a_narrow_range_bears_one_decimal():
    told = words.share_told(share(281, 3057, 0.0925, 0.0825, 0.1035, "enough"))
    assert told == "281 of 3,057, that is 9.2\u00a0% (likely 8.2 to 10.3\u00a0%)"


def test_too_few_gives_no_percentage():
    assert words.share_told(share(4, 9, None, 0.19, 0.73, "too few")) == "4 of 9; too few to say"
    assert words.share_said(share(4, 9, None, 0.19, 0.73, "too few")) == "4 of 9 · too few to say"


def test_rough_says_so():
    assert words.share_said(share(5, 18, 5 / 18, 0.125, 0.509, "rough")) == "5 of 18 · rough"


def test_a_narrow_range_below_50_is_told_in_hundredths():
    assert words.likely_share(share(0, 40, 0.0, 0.0, 0.09, "enough")) == "likely between 0 and 9 in every 100"


@pytest.mark.parametrize(
    ("number", "text"),
    [(0.424, "0.42"), (0.6, "0.6"), (4.21, "4.2"), (3.0, "3"), (52.4, "52"), (1234.5, "1,234")],
)
def test_figures_have_about_two_digits_that_mean_something(number, text):
    assert words.figure(number) == text


@pytest.mark.parametrize(
    ("names", "text"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (list("abcde"), "a, b, c and 2 more")],
)
def test_lists_read_as_sentences(names, text):
    assert words.listed(names) == text


def test_parts_that_share_a_name_are_told_apart_by_their_number():
    rows = [
        {"part_no": number, "part_name": name}
        for number, name in (("A1", "heater"), ("A2", "heater"), ("B", "pump"))
    ]
    assert [words.part_label(row) for row in words.tell_parts_apart(rows)] == [
        "heater A1",
        "heater A2",
        "pump",
    ]


def test_the_window_ends_on_its_last_day():
    from datetime import datetime

    row = {"from": datetime(2023, 3, 1), "complete_to": datetime(2026, 2, 14)}
    assert words.window(row) == "1 Mar 2023 to 13 Feb 2026"
