"""normalise.lines: typed values, and the one reason for which a row is set aside."""

import pytest

from pipeline.settings import Settings
from tests.builds import Layout, LogFile, normalised
from tests.table_text import assert_table

PROBLEM = "problem_column, problem_reason, problem_shape"


def problem_of(**cells):
    """Column, reason and shape for one row: the given cells over a row that is in order."""
    row = {"job_id": "J1", "unit_type": "washer", "reported_at": "2026-01-05", **cells}
    con = normalised("\n".join((" | ".join(row), " | ".join(value or "" for value in row.values()))))
    return con.execute(f"select {PROBLEM} from normalise.lines").fetchall()[0]


UNREADABLE = [
    *[
        (column, "5 Jab 26", "a date or time", "9 Aaa 99")
        for column in ("reported_at", "booked_for", "started_at", "finished_at")
    ],
    *[(column, "05/01/20266", "a date", "99/99/99999") for column in ("made_on", "installed_on")],
    *[(column, "1h75", "a length of time", "9a99") for column in ("hands_on_min", "travel_min")],
    *[(column, "1h30", "a number", "9a99") for column in ("age_years", "quantity")],
    *[
        (column, "£1.2.3", "an amount", "£9.9.9")
        for column in ("part_cost", "charge", "callout_charge", "labour_charge", "part_charge")
    ],
]


@pytest.mark.parametrize(("column", "text", "what", "shape"), UNREADABLE)
def test_value_that_is_there_and_cannot_be_read_sets_the_row_aside(column, text, what, shape):
    assert problem_of(**{column: text}) == (column, f"cannot be read as {what}", shape)


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ({"job_id": None}, ("job_id", "no job number")),
        ({"unit_type": None}, ("unit_type", "no kind of machine")),
        ({"unit_type": "..."}, ("unit_type", "no kind of machine")),
        ({"reported_at": None}, ("reported_at", "no date")),
        ({"hands_on_min": "-1"}, ("hands_on_min", "negative minutes")),
        ({"travel_min": "-0.5"}, ("travel_min", "negative minutes")),
        ({"finished_at": "2026-01-04"}, ("finished_at", "finished before reported")),
        (
            {"reported_at": "2026-01-05T10:00", "finished_at": "2026-01-05T09:59"},
            ("finished_at", "finished before reported"),
        ),
        ({"reported_at": "2030-01-02"}, ("reported_at", "dated after the file was received")),
        ({"started_at": "2031-01-01"}, ("started_at", "dated after the file was received")),
        ({"finished_at": "2031-01-01"}, ("finished_at", "dated after the file was received")),
    ],
)
def test_reason_for_which_a_row_is_set_aside(cells, expected):
    assert problem_of(**cells)[:2] == expected


@pytest.mark.parametrize(
    "cells",
    [
        {"unit_type": "kind unknown"},
        {"reported_at": None, "booked_for": "2026-01-05"},
        {"reported_at": None, "finished_at": "2026-01-05"},
        {"booked_for": "2031-01-01"},
        {"reported_at": "2026-01-05T10:00", "finished_at": "2026-01-05"},
        {"reported_at": "2030-01-01T23:00"},
        {"hands_on_min": "0"},
        {"charge": "-12.50"},
        {"quantity": "-1"},
        {"visit_no": "second"},
        {"outcome": "who knows"},
    ],
)
def test_row_that_can_be_used_is_used(cells):
    assert problem_of(**cells) == (None, None, None)


def test_first_problem_is_the_one_reported():
    assert problem_of(job_id=None, unit_type=None, charge="x")[0] == "job_id"
    assert problem_of(unit_type=None, charge="x")[0] == "charge"


def test_structural_trouble_comes_first_and_keeps_its_words():
    con = normalised("job_id | unit_type | reported_at\n| washer | 2026-01-05")
    con.execute("update received.rows set row_problem = '13 fields where the header has 12'")
    from pipeline import normalise

    normalise.run(con, Settings(), {})
    assert con.execute(f"select {PROBLEM} from normalise.lines").fetchall() == [
        ("row", "13 fields where the header has 12", None)
    ]


def test_shape_says_nothing_of_the_text():
    long = "Ann Éclair-Ødegård, 12 Hill Road ٣, key under pot"
    assert problem_of(charge=long)[2] == "Aaa Aaaaaa-Aaaaaaa, 99 Aaaa Aa"


@pytest.mark.parametrize(
    ("text", "at", "on"),
    [
        ("2026-07-05", "2026-07-04 22:00", "2026-07-05"),
        ("2026-07-05T01:30", "2026-07-04 23:30", "2026-07-05"),
        ("2026-07-05 01:30:59", "2026-07-04 23:30", "2026-07-05"),
        ("2026-01-05T01:30", "2026-01-05 00:30", "2026-01-05"),
        ("2026-07-04T23:30Z", "2026-07-04 23:30", "2026-07-05"),
        ("2026-07-04T23:30:00.5+00:00", "2026-07-04 23:30", "2026-07-05"),
        ("2026-07-05T01:30+0200", "2026-07-04 23:30", "2026-07-05"),
        ("2026-07-05T01:30-05", "2026-07-05 06:30", "2026-07-05"),
    ],
)
def test_moments_are_kept_in_utc_beside_the_local_day(text, at, on):
    con = normalised(
        f"job_id | unit_type | reported_at\nJ1 | washer | {text}", settings=Settings(time_zone="Europe/Paris")
    )
    assert_table(con, "normalise.lines", f"reported_at | reported_on | problem_reason\n{at} | {on} |")


@pytest.mark.parametrize(
    "text",
    [
        "2026-13-01",
        "2026-02-30",
        "infinity",
        "epoch",
        "2026-01-05 (BC)",
        "2026-01-05T25:00",
        "2026",
        "75",
    ],
)
def test_what_is_no_iso_moment_is_not_guessed(text):
    assert problem_of(reported_at=text)[1] == "cannot be read as a date or time"


def test_layout_may_have_its_own_time_zone():
    con = normalised(
        LogFile("job_id | unit_type | reported_at\nJ1 | washer | 2026-07-05T08:00", layout="far"),
        LogFile("job_id | unit_type | reported_at\nJ2 | washer | 2026-07-05T08:00", load_no=2),
        settings=Settings(time_zone="Europe/Paris"),
        layouts={"far": Layout(time_zone="Asia/Tokyo")},
    )
    expected = "job_id | reported_at | reported_on\nJ1 | 2026-07-04 23:00 | 2026-07-05\nJ2 | 2026-07-05 06:00 | 2026-07-05"
    assert_table(con, "normalise.lines", expected)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2019", "2019-01-01"),
        ("2019-06", "2019-06-01"),
        ("2019-06-15", "2019-06-15"),
        ("2019-06-15T10:00", "2019-06-15"),
    ],
)
def test_month_and_year_stand_for_their_first_day(text, day):
    con = normalised(f"job_id | unit_type | reported_at | made_on\nJ1 | washer | 2026-01-05 | {text}")
    assert_table(con, "normalise.lines", f"made_on | problem_reason\n{day} |")


@pytest.mark.parametrize(
    ("currency", "setting", "charge", "minor", "used"),
    [
        ("", "", "12.5", "1250", None),
        ("", "EUR", "12.5", "1250", "EUR"),
        ("eur", "USD", "12.3451", "1235", "EUR"),
        ("JPY", "", "1250", "1250", "JPY"),
        ("KWD", "", "1.25", "1250", "KWD"),
        ("", "", "-3", "-300", None),
    ],
)
def test_money_is_kept_in_minor_units_of_its_currency(currency, setting, charge, minor, used):
    con = normalised(
        f"job_id | unit_type | reported_at | charge | currency\nJ1 | washer | 2026-01-05 | {charge} | {currency}",
        settings=Settings(currency=setting),
    )
    assert_table(con, "normalise.lines", f"charge_minor | currency\n{minor} | {used or ''}")


@pytest.mark.parametrize("text", ["nan", "inf", "1e3", "0x10", "1_000", "1,500", "1 000"])
def test_number_that_is_not_plain_digits_is_not_guessed(text):
    assert problem_of(quantity=text)[1] == "cannot be read as a number"


def test_yes_no_and_unknown():
    con = normalised(
        "job_id | unit_type | reported_at | test_run | leak_check | safety_test\nJ1 | washer | 2026-01-05 | Y | no | unknown"
    )
    assert_table(con, "normalise.lines", "test_run | leak_check | safety_test\nyes | no |")


def test_spellings_of_a_make_are_one_shown_as_most_often_written():
    con = normalised(
        "job_id | unit_type | reported_at | make\n"
        + "\n".join(
            f"J{n} | washer | 2026-01-05 | {make}"
            for n, make in enumerate(("ORLE", "Orle", "orle  works", "Orle"))
        )
    )
    assert_table(con, "normalise.lines", "job_id | make\nJ0 | Orle\nJ1 | Orle\nJ2 | orle works\nJ3 | Orle")


def test_layout_may_say_what_a_word_and_an_empty_cell_mean():
    layouts = {"plain": Layout(values={"outcome": {"End of life": "beyond economic repair", "": "unknown"}})}
    con = normalised(
        "job_id | unit_type | reported_at | outcome\nJ1 | washer | 2026-01-05 | End of life\nJ2 | washer | 2026-01-05 |",
        layouts=layouts,
    )
    assert_table(con, "normalise.lines", "job_id | outcome\nJ1 | beyond economic repair\nJ2 | unknown")


def test_meanings_are_kept_with_rule_and_confidence():
    con = normalised(
        "job_id | unit_type | reported_at | outcome | symptom\nJ1 | w/m | 2026-01-05 | Paid | leaks; hissing"
    )
    assert_table(
        con,
        "normalise.meanings",
        """
        column_name | phrase  | meaning | rule           | confidence:double
        unit_type   | w/m     | washer  | vocabulary     | 0.9
        outcome     | Paid    | paid    | unsettled      | 0
        symptom     | leaks   | leaks   | standard value | 1
        symptom     | hissing | hissing | own words      | 0
        """,
    )


def test_note_is_read_for_symptoms_only_where_none_is_written():
    con = normalised(
        """
        job_id | unit_type | reported_at | symptom | note
        J1     | washer    | 2026-01-05  |         | no leak; replaced; noisy; not heating
        J2     | washer    | 2026-01-05  | leaks   | noisy
        """
    )
    assert_table(
        con,
        "normalise.lines",
        "job_id | symptom | symptoms\nJ1 | noisy | noisy; not heating\nJ2 | leaks | leaks",
    )


def test_form_of_each_column_is_kept():
    con = normalised("job_id | unit_type | reported_at\nJ1 | washer | 2026-01-05")
    sql = "select form from normalise.forms where file_no = 1 and column_name in ('reported_at', 'charge') order by column_name"
    assert con.execute(sql).fetchall() == [("decimal point",), ("ISO 8601",)]


def test_lists_that_were_never_loaded_are_empty_tables():
    con = normalised("job_id | unit_type | reported_at\nJ1 | washer | 2026-01-05")
    for table in ("machine_list", "parts_list", "stock_list", "notice_list"):
        assert con.execute(f"select count(*) from normalise.{table}").fetchall() == [(0,)]


def test_log_that_was_never_loaded_is_an_empty_table():
    con = normalised(machines="unit_id | unit_type\nu1 | washer")
    assert con.execute("select count(*) from normalise.lines").fetchall() == [(0,)]
