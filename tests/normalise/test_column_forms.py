"""The form of a column: decided by what its cells show, whatever the order of rows; never guessed."""

import random
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.normalise.column_forms import choose_forms
from pipeline.normalise.files import number_files
from pipeline.settings import Settings
from tests.builds import Layout, connect, normalised, receive
from tests.table_text import assert_table


def chosen(column, cells, jobs=None, named=None, **other):
    """Decision and readings of a column of a log with these cells."""
    names = [column, *other, "job_id"]
    rows = zip(
        cells, *other.values(), jobs or [f"J{n}" for n in random.sample(range(900), len(cells))], strict=True
    )
    with connect() as con:
        receive(con, ["\n".join((" | ".join(names), *(" | ".join(row) for row in rows)))])
        con.execute("create schema normalise")
        layouts = {"plain": Layout(forms=named or {})}
        number_files(con, Settings(), layouts)
        form = choose_forms(con, layouts)[1][column]
        read = f"select {form.form.sql('trim(c)')} from (select unnest($1::varchar[]) as c)"
        return form, [value for (value,) in con.execute(read, [list(cells)]).fetchall()]


@pytest.mark.parametrize(
    ("cells", "form"),
    [
        (["2026-03-04", "2026-03-05T10:00"], "ISO 8601"),
        (["03/04/26", "13/04/26"], "day first"),
        (["03/04/26", "04/13/26"], "month first"),
        (["Fri 03/04/26", "04/04/26"], "day first"),  # 3 April 2026 is a Friday, 4 March a Wednesday
        (["Wed 03/04/26", "04/04/26"], "month first"),
        (["05/05/26", "06/06/2026"], "day first"),  # the same day either way
        (["2026-04-03", "13.4.2026"], "day first"),
        (["4 March 2026", "2026-03-05"], "month names"),
        (["46085", "46086.5"], "spreadsheet days"),
        (["20260304", "20260305"], "compact"),
        ([f"26-03-{day:02}" for day in (1, 4, 9, 17, 22, 30)], "year first"),
        (["03/04/26"] * 3 + ["13/04/26"] * 3 + ["2 weeks ago"], "day first"),
    ],
)
def test_dates_are_decided_by_what_only_one_reading_allows(cells, form):
    assert chosen("reported_at", cells)[0].decision.form == form
    assert not chosen("reported_at", cells)[0].decision.open


ISO_DAYS = [f"2026-03-{day:02}" for day in range(1, 25)]
DAYS_FIRST = [f"{day:02}/{month:02}/26" for day in range(1, 29) for month in (3, 4)]
WHOLE_MINUTES = [str(n) for n in range(20, 45)]


@pytest.mark.parametrize(
    ("column", "others", "slip"),
    [
        ("reported_at", ISO_DAYS, "03/04/26"),
        ("reported_at", ISO_DAYS, "04.05.06"),
        ("hands_on_min", WHOLE_MINUTES, "1.30 h"),
        ("charge", [f"{n}.50" for n in range(30, 60)], "12,50"),
        ("reported_at", DAYS_FIRST, "03/31/26"),
    ],
)
def test_one_odd_cell_asks_nobody_and_is_read_as_nothing(column, others, slip):
    form, read = chosen(column, [*others, slip])
    assert not form.decision.open or not form.decision.is_worth_asking
    assert read[-1] is None
    assert None not in read[:-1]
    # Among a few cells it may be as right as any of them.
    few, _ = chosen(column, [*others[:3], slip, slip])
    assert few.decision.is_worth_asking


@pytest.mark.parametrize(
    ("column", "cells", "open_between"),
    [
        ("reported_at", ["03/04/26", "05/06/26"], ("day first", "month first")),
        ("reported_at", ["03/04/26", "13/04/26", "04/13/26"], ("day first", "month first")),
        ("reported_at", ["25/01/24", "25/01/26"], ("day first", "month first", "year first")),
        ("hands_on_min", ["1.30", "2", "0.45"], ("hours", "hours.minutes")),
        ("hands_on_min", ["8.5", "9.5"], ("minutes", "hours")),
        ("hands_on_min", ["0.1", "0.1"], ("parts of a day", "hours")),
        ("hands_on_min", ["3.00", "2.00"], ("minutes", "hours")),
        ("charge", ["1.234", "85"], ("amounts with a decimal point", "amounts with a decimal comma")),
        ("charge", ["1,234"], ("amounts with a decimal point", "amounts with a decimal comma")),
    ],
)
def test_column_that_nothing_decides_is_open_and_read_only_where_it_cannot_be_misread(
    column, cells, open_between
):
    form, read = chosen(column, [*cells, cells[0]])
    assert form.decision.open == open_between
    assert form.example in cells
    assert read[0] is None


def test_dates_that_a_spreadsheet_may_have_turned_round_are_asked_for():
    typed, taken = (
        ["13/04/2026", "14/04/2026", "29/04/2026"],
        [f"2026-{month:02}-04" for month in range(5, 11)],
    )
    form, read = chosen("reported_at", typed + taken)
    assert form.decision.open == ("day first", "day first, other dates turned round")
    assert read == [datetime(2026, 4, 13), datetime(2026, 4, 14), datetime(2026, 4, 29), *[None] * 6]
    named = {"reported_at": "day first, other dates turned round"}
    assert chosen("reported_at", typed + taken, named=named)[1][3:5] == [
        datetime(2026, 4, 5),
        datetime(2026, 4, 6),
    ]
    # A day after the 12th among them, or a typed one before it, and there is nothing to suspect.
    for more in ("2026-05-20", "02/04/2026"):
        assert not chosen("reported_at", [*typed, *taken, more])[0].decision.open


@pytest.mark.parametrize(
    ("cells", "form"),
    [
        (["90", "45", "20"], "minutes"),
        (["90", "45", "1h30", "½"], "minutes"),
        (["37.5", "90"], "minutes"),
        (["90", "45", "60", "1.5"], "minutes from 5"),
        (["1.5", "2", "0.75"], "hours"),
        (["1,5", "2"], "hours"),  # halves only
        (["1.30", "2", "0.75"], "hours"),  # no hour has 75 minutes
        (["0.0625", "0.03125"], "parts of a day"),
        (["1 h 30", "1:15", "90 min"], "minutes"),
    ],
)
def test_lengths_of_time_are_decided_by_their_distribution(cells, form):
    decision = chosen("hands_on_min", cells)[0].decision
    assert (decision.form, decision.open) == (form, ())


@pytest.mark.parametrize(
    ("cells", "form"),
    [
        (["85", "12.50"], "decimal point"),
        (["1.234", "12.50"], "decimal point"),
        (["£85", "1,234.50"], "amounts with a decimal point"),
        (["1.234", "12,50"], "amounts with a decimal comma"),
        (["85,-", "FOC", "12,5 €"], "amounts with a decimal comma"),
    ],
)
def test_decimal_mark_is_decided_by_the_column(cells, form):
    decision = chosen("charge", cells)[0].decision
    assert (decision.form, decision.open) == (form, ())


def test_job_numbers_decide_where_only_one_reading_rises_with_them():
    days = [date(2026, month, day) for month in (1, 2, 3, 4) for day in (2, 6, 11)]
    jobs = [f"J{100 + n}" for n in range(len(days))]
    for written, form in (("%d/%m/%y", "day first"), ("%m/%d/%y", "month first")):
        pairs = list(zip([day.strftime(written) for day in days], jobs, strict=True))
        random.Random(1).shuffle(pairs)
        cells, numbers = zip(*pairs, strict=True)
        found, read = chosen("reported_at", cells, jobs=numbers)
        assert found.decision.form == form
        assert sorted(read) == [datetime(d.year, d.month, d.day) for d in days]


def test_column_follows_the_one_beside_it_that_shows_how():
    finished = ["13/04/26", "14/04/26"]
    found, _ = chosen("reported_at", ["03/04/26", "05/04/26"], finished_at=finished)
    assert (found.decision.form, found.decision.evidence) == ("day first", "as in finished_at")
    found, _ = chosen("charge", ["1.234", "2.500"], part_cost=["12.50", "3"])
    assert found.decision.form == "amounts with a decimal point"
    assert chosen("charge", ["1.234", "2.500"], part_cost=["12", "3"])[0].decision.open


def test_form_named_in_the_layout_wins_and_settles_the_columns_beside_it():
    cells = ["03/04/26", "05/06/26"]
    found, read = chosen("reported_at", cells, named={"reported_at": "month first"})
    assert (found.decision.form, read[0]) == ("month first", datetime(2026, 3, 4))
    found, _ = chosen("finished_at", cells, reported_at=cells, named={"reported_at": "month first"})
    assert found.decision.form == "month first"


def test_slip_among_many_dates_leaves_the_column_decided_and_is_set_aside():
    cells = [f"{day:02}/{month:02}/26" for month in range(1, 9) for day in range(13, 29)] + [
        "04/13/26",
        "03/04/26",
    ]
    found, read = chosen("reported_at", cells)
    assert found.decision.form == "day first"
    assert read[-2:] == [None, datetime(2026, 4, 3)]


def test_forms_are_kept_with_their_evidence_and_tax_basis():
    con = normalised(
        "job_id | unit_type | reported_at | charge | part_charge | labour_charge\n"
        "J1 | washer | 13/04/26 | £85 inc | 10+VAT | 5 inc\nJ2 | washer | 03/04/26 | 12.50 | 3 | 4+VAT"
    )
    assert_table(
        con,
        "(select * from normalise.forms where column_name in ('reported_at', 'charge', 'part_charge', 'labour_charge'))",
        """
        column_name   | form                         | evidence | tax_basis
        reported_at   | day first                    | a number above 12 or a weekday stands where only a day can (1 of 1 such cells) |
        charge        | amounts with a decimal point | two digits after the mark, or thousands parted by the other one (1 of 1 such cells) | inc
        part_charge   | amounts with a decimal point | every cell reads the same either way | ex
        labour_charge | amounts with a decimal point | every cell reads the same either way | unknown
        """,
    )


@pytest.mark.parametrize(
    ("cells", "currency", "setting", "used"),
    [
        (["£85", "12"], "", "", ["GBP", "GBP"]),
        (["85 €", "£12"], "", "", ["EUR", "GBP"]),
        (["85 €", "12"], "CHF", "", ["CHF", "CHF"]),
        (["$85", "12"], "", "GBP", [None, None]),
        (["$85", "12"], "", "CAD", ["CAD", "CAD"]),
        (["USD 85", "12"], "", "GBP", ["USD", "USD"]),
        (["£85", "USD 5", "12"], "", "EUR", ["GBP", "USD", "EUR"]),
    ],
)
def test_amount_says_its_currency_unless_a_column_does(cells, currency, setting, used):
    rows = "\n".join(f"J{n} | washer | 2026-01-05 | {cell} | {currency}" for n, cell in enumerate(cells))
    con = normalised(
        f"job_id | unit_type | reported_at | charge | currency\n{rows}", settings=Settings(currency=setting)
    )
    found = con.execute("select currency from normalise.lines order by job_id").fetchall()
    assert [value for (value,) in found] == used


def test_row_with_amounts_in_two_currencies_is_set_aside():
    con = normalised(
        "job_id | unit_type | reported_at | charge | part_charge\nJ1 | washer | 2026-01-05 | £85 | 5 €"
    )
    assert con.execute("select problem_column, problem_reason from normalise.lines").fetchall() == [
        ("charge", "amounts in several currencies")
    ]


def test_lists_are_read_in_the_form_of_their_columns():
    con = normalised(
        machines="unit_id | unit_type | installed_on\nu1 | washer | 13/04/2019\nu2 | dryer | 03/04/2019",
        parts="part_no | unit_cost\nP1 | 1.234,50 €\nP2 | 12,50",
    )
    assert_table(con, "normalise.machine_list", "unit_id | installed_on\nu1 | 2019-04-13\nu2 | 2019-04-03")
    assert_table(con, "normalise.parts_list", "part_no | unit_cost_minor\nP1 | 123450\nP2 | 1250")


# Hypothesis: a true column, written in one style, is read back exactly or left open; never read as something else.

DAYS = st.dates(date(2019, 1, 1), date(2027, 12, 31))
MOMENTS = st.builds(datetime.combine, DAYS, st.times().map(lambda t: t.replace(second=0, microsecond=0)))
DATE_STYLES = (
    "%d/%m/%Y",
    "%d.%m.%y",
    "%d-%m-%Y %H:%M",
    "%m/%d/%Y",
    "%m/%d/%y %I:%M %p",
    "%d %b %Y",
    "%a %d/%m/%y",
)
DATE_STYLES += ("%Y-%m-%dT%H:%M", "%Y%m%d", "serial", "%B %d, %Y")


def written_date(moment, style):
    if style == "serial":
        return f"{(moment - datetime(1899, 12, 30)) / timedelta(days=1):.10f}"
    return moment.strftime(style)


@settings(max_examples=30)
@given(
    st.lists(MOMENTS, min_size=1, max_size=25),
    st.sampled_from(DATE_STYLES),
    st.randoms(use_true_random=False),
)
def test_column_of_dates_is_read_back_or_left_open(moments, style, rng):
    has_clock = any(mark in style for mark in ("H", "I", "serial"))
    true = [m if has_clock else m.replace(hour=0, minute=0) for m in moments]
    pairs = [(written_date(m, style), m) for m in true]
    found, read = chosen("reported_at", [cell for cell, _ in pairs])
    if not found.decision.open:
        assert read == [m for _, m in pairs]
    else:
        assert all(value in (None, m) for value, (_, m) in zip(read, pairs, strict=True))
    is_decidable = (
        not any(mark in style for mark in ("/", ".", "-"))
        or style.startswith("%Y")
        or any(m.day > 12 for m in true)
    )
    if is_decidable and "y" not in style:
        assert not found.decision.open
    rng.shuffle(pairs)
    assert chosen("reported_at", [cell for cell, _ in pairs])[0].decision == found.decision


def hours_minutes(minutes):
    return f"{minutes // 60}.{minutes % 60:02}"


MINUTE_STYLES = {
    "minutes": str,
    "min": lambda m: f"{m} min",
    "clock": lambda m: f"{m // 60}:{m % 60:02}",
    "h": lambda m: f"{m // 60}h{m % 60:02}",
    "hours": lambda m: f"{m / 60:.2f}",
    "hours with a comma": lambda m: f"{m / 60:.2f}".replace(".", ","),
    "hours.minutes": hours_minutes,
    "parts of a day": lambda m: f"{m / 1440:.10f}",
}


@settings(max_examples=30)
@given(
    st.lists(st.integers(5, 240).map(lambda m: m - m % 3), min_size=1, max_size=25),
    st.sampled_from(sorted(MINUTE_STYLES)),
)
def test_column_of_lengths_of_time_is_read_back_or_left_open(minutes, style):
    found, read = chosen("hands_on_min", [MINUTE_STYLES[style](m) for m in minutes])
    wrong = [(m, value) for m, value in zip(minutes, read, strict=True) if value not in (None, m)]
    assert not wrong
    if style in ("minutes", "min", "clock", "h"):
        assert not found.decision.open
        assert None not in read


def written_amount(pence, style):
    mark, thousands, before, after = style
    whole = f"{abs(pence) // 100:,}".replace(",", thousands)
    return f"{'-' if pence < 0 else ''}{before}{whole}{mark}{abs(pence) % 100:02}{after}"


@settings(max_examples=30)
@given(
    st.lists(st.integers(-2_000_00, 9_999_99), min_size=1, max_size=25),
    st.sampled_from(
        [
            (".", ",", "£", ""),
            (",", ".", "", " €"),
            (".", "", "", ""),
            (",", "", "EUR ", ""),
            (".", " ", "", "+VAT"),
        ]
    ),
)
def test_column_of_amounts_is_read_back_exactly(pence, style):
    found, read = chosen("charge", [written_amount(p, style) for p in pence])
    assert not found.decision.open
    assert [round(value * 100) for value in read] == pence


@settings(max_examples=20)
@given(st.lists(st.integers(1, 9_999), min_size=1, max_size=12), st.sampled_from([",", "."]))
def test_column_of_whole_amounts_in_thousands_is_read_back_or_left_open(pounds, thousands):
    found, read = chosen("charge", [f"{p:,}".replace(",", thousands) for p in pounds])
    assert all(value in (None, p) for value, p in zip(read, pounds, strict=True))
    if all(p < 1000 for p in pounds):
        assert not found.decision.open


@pytest.mark.parametrize("cells", [["2.5", "3", "1.5"], ["1", "2", "1"], ["0.5", "0.25"]])
def test_minutes_of_a_check_are_never_taken_for_hours(cells):
    found, read = chosen("check_min", cells)
    assert (found.decision.form, found.decision.open) == ("minutes", ())
    assert read == [float(cell) for cell in cells]
