"""Workbooks: every sheet a table, cells as text, or a sentence."""

import re
from datetime import date, datetime, time
from pathlib import Path

import pytest

from pipeline.errors import UnreadableError
from pipeline.intake import workbook_parts
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from tests.intake.books import archive, book, changed, parts_of, table
from tests.intake.reading import KEY, headers_of, records_of, tables_in

GOOD = book(table(["a", "b"], ["x", 1], ["y", 2]))
SHEET = "xl/worksheets/sheet1.xml"


def cells_of(content, **options):
    return [record.cells for record in records_of(content, **options)]


def column(fill, **options):
    """Texts of the cells that are written below a header."""

    def whole(sheet, form):
        sheet.write(0, 0, "header")
        fill(sheet, form)

    return [cells[0] for cells in cells_of(book(whole, **options))]


def test_days_and_moments_are_written_one_way():
    def fill(sheet, form):
        sheet.write_datetime(1, 0, date(2024, 3, 4), form("mmm yy"))
        sheet.write_datetime(2, 0, datetime(2024, 3, 4, 14, 5), form("dd/mm/yyyy hh:mm"))
        sheet.write_datetime(3, 0, datetime(2024, 3, 4, 14, 5, 9), form("d.m.yy h:mm:ss"))
        sheet.write_string(4, 0, "04/03/2024")
        sheet.write_number(5, 0, 45355)  # a day as its plain number: nothing says that it is a day
        sheet.write_number(6, 0, 45355 + 50_709.4 / 86_400, form("d.m.yy h:mm:ss"))

    for options in ({}, {"date_1904": True}):
        texts = column(fill, **options)
        assert texts[:5] == ["2024-03-04", "2024-03-04T14:05", "2024-03-04T14:05:09", "04/03/2024", "45355"]
    assert column(fill)[5] == "2024-03-04T14:05:09.4"


@pytest.mark.parametrize("options", [{}, {"date_1904": True}])
def test_times_and_spans_are_hours_and_minutes(options):
    def fill(sheet, form):
        sheet.write_datetime(1, 0, time(9, 5), form("hh:mm"))
        sheet.write_number(2, 0, 40 / 1440, form("[h]:mm"))
        sheet.write_number(3, 0, 1.5, form("[h]:mm"))
        sheet.write_number(4, 0, 100 + 1 / 24, form("[h]:mm:ss"))
        sheet.write_number(5, 0, 90 / 86_400, form("h:mm:ss"))

    assert column(fill, **options) == ["9:05", "0:40", "36:00", "2401:00", "0:01:30"]


def test_numbers_texts_truths_and_formulas_give_what_is_shown_or_nothing():
    def fill(sheet, form):
        sheet.write_string(1, 0, "00123")
        sheet.write_number(2, 0, 5.0)
        sheet.write_number(3, 0, 0.1)
        sheet.write_number(4, 0, 1e-7)
        sheet.write_boolean(5, 0, True)
        sheet.write_formula(6, 0, "=1+1", None, 2)
        sheet.write_formula(7, 0, "=A2", None, "text")
        sheet.write_rich_string(8, 0, "two ", form("0"), "parts")
        sheet.write_string(9, 0, "two\nlines")
        for row, error in enumerate(("#N/A", "#DIV/0!", "#REF!"), start=10):
            sheet.write_formula(row, 0, "=NA()", None, error)
            sheet.write_string(row, 1, "beside an error")

    texts = ["00123", "5", "0.1", "0.0000001", "yes", "2", "text", "two parts", "two\nlines", "", "", ""]
    assert column(fill) == texts


def test_value_merged_over_rows_stands_in_each_of_them():
    def fill(sheet, form):
        sheet.write_row(1, 1, ["job", "part"])
        sheet.merge_range(2, 1, 4, 1, "J1", form("@"))
        sheet.write_column(2, 2, ["P1", "P2", "P3"])
        sheet.write_row(5, 1, ["J2", "P4"])

    assert cells_of(book(fill)) == [("J1", "P1"), ("J1", "P2"), ("J1", "P3"), ("J2", "P4")]


def test_record_numbers_count_filled_rows_and_lines_are_rows_of_the_sheet():
    content = book(table([], ["Our jobs"], [], ["a", "b"], ["x", 1], [], [" "], ["y", 2]))
    assert [header.above for header in headers_of(content)] == [0, 1, 2, 3]
    records = records_of(content, above=1)
    assert [(record.number, record.line, record.cells) for record in records] == [
        (1, 5, ("x", "1")),
        (2, 8, ("y", "2")),
    ]
    assert records_of(content, 1, above=1) == records


def test_every_shown_sheet_with_something_in_it_is_a_table():
    content = book(table(["a"], [1]), table(), table(["b"], [2]), table(["c"], [3]), hidden=(3,))
    source = Source(Path("book.xlsx"), content)
    found = tables_of(source, survey(source, KEY))
    assert [each.sheet for each in found.tables] == [1, 3]
    assert found.hidden == (4,)


def test_file_on_a_disk_reads_like_one_in_memory(tmp_path):
    path = tmp_path / "log.csv"  # whatever it is called
    path.write_bytes(GOOD)
    source = Source(path)
    (sheet,) = tables_of(source, survey(source, KEY)).tables
    assert [row for block in sheet.blocks(sheet.headers()[0]) for row in block.cells.iter_rows()] == [
        *(("x", "1"), ("y", "2")),
    ]


def test_cells_that_do_not_say_where_they_are_are_read_in_order():
    content = changed(GOOD, SHEET, lambda xml: re.sub(rb' r="[A-Z]+\d+"', b"", xml))
    assert cells_of(content) == [("x", "1"), ("y", "2")]


def test_equal_headers_and_very_many_columns_are_read():
    assert headers_of(book(table(["a", "a"], [1, 2])))[0].names == ("a", "a")
    wide = book(table([f"c{n}" for n in range(5000)], list(range(5000))))
    assert cells_of(wide) == [tuple(str(n) for n in range(5000))]


def without(name):
    parts = parts_of(GOOD)
    del parts[name]
    return archive(parts)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (book(table()), "holds no sheet with anything in it"),
        (book(table(["a"]), hidden=(0,)) and book(table(), table(["a"]), hidden=(1,)), "holds no sheet"),
        (GOOD[:-40], "damaged or cut off"),
        (GOOD[: len(GOOD) // 2], "damaged or cut off"),
        (b"PK\x03\x04" + b"rest" * 300, "damaged or cut off"),
        (changed(GOOD, SHEET, lambda xml: xml[: len(xml) // 2]), "damaged or cut off"),
        (changed(GOOD, "xl/workbook.xml", lambda xml: xml[: len(xml) // 2]), "damaged or cut off"),
        (without(SHEET), "damaged or cut off"),
        (archive({"content.xml": b"<x/>"}), "OpenDocument"),
        (archive({"xl/workbook.bin": b"x"}), "xlsb"),
        (archive({"word/document.xml": b"<x/>"}), "text document"),
        (archive({"log.csv": b"a,b\n1,2\n"}), "is an archive; unpack it first"),
    ],
)
def test_what_is_no_workbook_is_refused_in_one_sentence(content, says):
    with pytest.raises(UnreadableError, match=says):
        [sheet.headers() for sheet in tables_in(content)]


def test_workbook_that_unpacks_to_more_than_memory_is_refused_before_it_is_opened(monkeypatch):
    monkeypatch.setattr(workbook_parts, "MOST_UNPACKED", 1 << 20)
    bomb = archive(parts_of(GOOD) | {"xl/media/image1.png": bytes(1 << 21)})
    assert len(bomb) < 1 << 14
    with pytest.raises(UnreadableError, match="unpacks to more than 1 MB; save its sheets as CSV"):
        tables_in(bomb)


def test_part_that_is_longer_than_it_says_is_damaged():
    # The length that the archive's directory gives for the sheet, made one smaller.
    length = len(parts_of(GOOD)[SHEET])
    start, end = GOOD.rsplit(SHEET.encode(), 1)
    fields = bytearray(start)
    fields[-22:-18] = (length - 1).to_bytes(4, "little")
    with pytest.raises(UnreadableError, match="damaged or cut off"):
        tables_in(bytes(fields) + SHEET.encode() + end)


def test_one_cell_far_away_is_refused_instead_of_filling_the_memory():
    def fill(sheet, _):
        sheet.write(0, 0, "a")
        sheet.write(1_048_575, 16_383, 1)

    with pytest.raises(
        UnreadableError, match=r"sheet 1: its cells reach over 1,048,576 rows and 16,384 columns"
    ):
        tables_in(book(fill))


def test_coloured_empty_cells_are_nothing_however_far_they_reach():
    def fill(sheet, form):
        sheet.write_row(0, 0, ["a", "b"])
        sheet.write_row(1, 0, ["x", 1])
        sheet.write_blank(1_048_575, 16_383, None, form("0"))

    assert cells_of(book(fill)) == [("x", "1")]
    with pytest.raises(UnreadableError, match="holds no sheet with anything in it"):
        tables_in(book(lambda sheet, form: sheet.write_blank(5, 5, None, form("0"))))
