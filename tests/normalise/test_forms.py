"""Written forms: what each reads, cell by cell, and what it refuses to read."""

from datetime import datetime

import pytest

from pipeline.normalise.forms import FORMS, default_form, form_named
from tests.builds import connect

MARCH = datetime(2026, 3, 4)
AFTERNOON = datetime(2026, 3, 4, 14, 5)


@pytest.fixture(scope="module")
def con():
    with connect() as connection:
        yield connection


def read(con, kind, form, cell):
    sql = form_named(kind, form).sql("cell")
    return con.execute(f"select {sql} from (select $1::varchar as cell)", [cell]).fetchall()[0][0]


@pytest.mark.parametrize(
    ("form", "cell", "moment"),
    [
        ("day first", "04/03/26", MARCH),
        ("day first", "2026-03-04 4:05", datetime(2026, 3, 4, 4, 5)),
        ("day first", "4.3.2026", MARCH),
        ("day first", "4. 3. 2026", MARCH),
        ("day first", "04-03-2026 14:05", AFTERNOON),
        ("day first", "04/03/26 14:05:59", datetime(2026, 3, 4, 14, 5, 59)),
        ("day first", "4/3/2026 2:05 pm", AFTERNOON),
        ("day first", "04/03/26 12:05 am", datetime(2026, 3, 4, 0, 5)),
        ("day first", "04.03.2026 14.05 Uhr", AFTERNOON),
        ("day first", "Wed 04/03/26", MARCH),
        ("month first", "03/04/26 14:05", AFTERNOON),
        ("month first", "3-4-2026", MARCH),
        ("year first", "26-03-04", MARCH),
        ("month names", "4-Mar-2026", MARCH),
        ("month names", "4 March 2026", MARCH),
        ("month names", "Wed 4 Mar 2026", MARCH),
        ("month names", "4th of March 2026 14:05", AFTERNOON),
        ("month names", "March 4, 2026", MARCH),
        ("month names", "Mi. 4. März 2026", MARCH),
        ("month names", "wo 4 mrt 2026", MARCH),
        ("month names", "mer. 4 mars 2026 14h05", AFTERNOON),
        ("month names", "4 févr. 26", datetime(2026, 2, 4)),
        ("compact", "20260304", MARCH),
        ("compact", "20260304 1405", AFTERNOON),
        ("compact", "2026/3/4", MARCH),
        ("spreadsheet days", "46085", MARCH),  # trade.md 2.3
        ("spreadsheet days", "46085.5868055556", AFTERNOON),
        ("spreadsheet days", "61", datetime(1900, 3, 1)),  # trade.md 2.3: from 1 Mar 1900 on
        ("spreadsheet days from 1904", "44623", MARCH),
        ("day first", "04/03/68", datetime(2068, 3, 4)),
        ("day first", "04/03/69", datetime(1969, 3, 4)),
    ],
)
def test_date_is_read_as_it_is_meant(con, form, cell, moment):
    assert read(con, "moment", form, cell) == moment
    day = read(con, "day", form, cell)
    assert day == moment.date()


@pytest.mark.parametrize("form", ["day first", "month first"])
@pytest.mark.parametrize(
    "cell",
    [
        "13/13/2026",
        "31/02/2026",
        "03/04-26",
        "1/2/3",
        "4 Mar",
        "wk 12",
        "Tue 4th",
        "46085",
        "04/03/26 25:05",
        "04/03/26 13:05 pm",
        "0/3/2026",
        "04/03/2026 14:60",
        "Mrs 04/03/2026",
        "04/03/2026 and later",
        "00/00/0000",
    ],
)
def test_what_is_no_whole_date_is_not_guessed(con, form, cell):
    assert read(con, "moment", form, cell) is None


@pytest.mark.parametrize("cell", ["60", "2019", "99999", "1e4", "-46085"])
def test_number_that_is_no_day_of_a_spreadsheet_is_not_guessed(con, cell):
    assert read(con, "moment", "spreadsheet days", cell) is None


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("2019", "2019-01-01"),
        ("06/2019", "2019-06-01"),
        ("Jun 2019", "2019-06-01"),
        ("2019-06", "2019-06-01"),
    ],
)
def test_month_and_year_alone_stand_for_their_first_day(con, cell, day):
    assert str(read(con, "day", "day first", cell)) == day


@pytest.mark.parametrize("form", ["minutes", "hours", "hours.minutes", "parts of a day"])
@pytest.mark.parametrize(
    ("cell", "minutes"),
    [
        ("90 min", 90),
        ("90min", 90),
        ("45'", 45),
        ("1h30", 90),
        ("1 h 30", 90),
        ("1 hr 30 mins", 90),
        ("1:30", 90),
        ("0:45", 45),
        ("1 1/2 hr", 90),
        ("½", 30),
        ("1½ h", 90),
        ("2 Std", 120),
        ("01:30:00", 90),
        ("1h5", 65),
        ("PT1H30M", 90),
        ("PT45M", 45),
    ],
)
def test_length_of_time_that_names_its_unit_is_read_alike_in_every_form(con, form, cell, minutes):
    assert read(con, "minutes", form, cell) == minutes


@pytest.mark.parametrize(
    ("form", "cell", "minutes"),
    [
        ("minutes", "90", 90),
        ("minutes", "-5", -5),
        ("minutes", "1.5 h", 90),
        ("minutes", "1,5 h", 90),
        ("hours", "1.5", 90),
        ("hours", "1,5", 90),
        ("hours", "1.1", 66),
        ("hours", "1.30", 78),
        ("hours.minutes", "1.30", 90),
        ("hours.minutes", "1.3", 90),
        ("hours.minutes", "2", 120),
        ("parts of a day", "0.0625", 90),  # trade.md 2.3
        ("parts of a day", "0.0416667", 60),
    ],
)
def test_bare_number_is_what_the_form_says(con, form, cell, minutes):
    assert read(con, "minutes", form, cell) == minutes


@pytest.mark.parametrize(
    ("form", "cell"),
    [
        ("minutes", "1h75"),
        ("minutes", "1:75"),
        ("minutes", "1,250"),
        ("minutes", "a while"),
        ("hours", "90"),
        ("hours.minutes", "1.75"),
        ("parts of a day", "1.5"),
        ("minutes from 5", "1.5"),
        ("minutes", "h"),
    ],
)
def test_length_of_time_that_cannot_be_meant_is_not_guessed(con, form, cell):
    assert read(con, "minutes", form, cell) is None


POINT, COMMA = "amounts with a decimal point", "amounts with a decimal comma"


@pytest.mark.parametrize("form", [POINT, COMMA])
@pytest.mark.parametrize(
    ("cell", "amount"),
    [
        ("£85", 85),
        ("85,-", 85),
        ("85,- €", 85),
        ("(85)", -85),
        ("85-", -85),
        ("-£85", -85),
        ("85 inc", 85),
        ("85+VAT", 85),
        ("85 (inc VAT)", 85),
        ("ex 85", 85),
        ("FOC", 0),
        ("n/c", 0),
        ("goodwill", 0),
        ("gratis", 0),
        ("CAD $85", 85),
        ("1 234", 1234),
    ],
)
def test_amount_without_pence_is_read_alike(con, form, cell, amount):
    assert read(con, "money", form, cell) == amount


@pytest.mark.parametrize(
    ("point", "comma", "amount"),
    [
        ("£85.00", "£85,00", "85.00"),
        ("EUR 85.50", "EUR 85,50", "85.50"),
        ("1,234.50", "1.234,50", "1234.50"),
        ("(85.00)", "(85,00)", "-85.00"),
        ("1'234.50", "1'234,50", "1234.50"),
        ("1,234", "1.234", "1234.00"),
        (".50", ",50", "0.50"),
    ],
)
def test_amount_is_read_by_its_decimal_mark(con, point, comma, amount):
    assert f"{read(con, 'money', POINT, point):.2f}" == f"{read(con, 'money', COMMA, comma):.2f}" == amount


@pytest.mark.parametrize(
    ("form", "cell"),
    [
        (POINT, "1.234,50"),
        (COMMA, "1,234.50"),
        (COMMA, "85.00"),
        (POINT, "12,34.50"),
        (POINT, "--85"),
        (POINT, "(-85)"),
        (POINT, "85 or so"),
        (POINT, "see quote"),
        (POINT, "£"),
        (COMMA, "0.125"),
    ],
)
def test_amount_that_is_odd_is_not_guessed(con, form, cell):
    assert read(con, "money", form, cell) is None


@pytest.mark.parametrize(
    ("cell", "quantity"),
    [
        ("x2", 2),
        ("2 off", 2),
        ("2x", 2),
        ("pair", 2),
        ("2 pairs", 4),
        ("1,5", 1.5),
        ("½", 0.5),
        ("-1", -1),
        ("3 pcs", 3),
        ("7 yrs", 7),
        ("1.5 m", 1.5),
    ],
)
def test_quantity_is_read_with_its_unit(con, cell, quantity):
    assert read(con, "number", "numbers with units", cell) == quantity


@pytest.mark.parametrize("form", FORMS, ids=lambda form: f"{form.kind}: {form.name}")
def test_every_form_reads_what_its_default_reads_or_nothing_of_an_empty_text(con, form):
    plain = {"moment": "2026-03-04T14:05", "day": "2026-03-04"}.get(form.kind)
    assert read(con, form.kind, form.name, "") is None
    if plain and "turned round" not in form.name:
        assert read(con, form.kind, form.name, plain) == read(
            con, form.kind, default_form(form.kind).name, plain
        )
