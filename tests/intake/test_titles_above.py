"""Titles may stand above the header; it is the first record that fits a layout, and what is above is no row."""

from pathlib import Path

import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.intake.layout_files import known_layouts
from pipeline.intake.recognise import choose_layout
from pipeline.intake.source import Source
from pipeline.load import load, log_check
from tests.intake.books import book, table
from tests.intake.reading import headers_of, records_of

TITLES = 'Quillby Repairs; Larkspur Road\n\n"Jobs, all\nof them",x\n'
HEADER = "unit_type,reported_at,outcome"
LOG = HEADER + "\nwasher,2024-01-02,fixed\ndryer,2024-01-03,fixed\n"


def chosen(content, **asked):
    layout, header = choose_layout("jobs.csv", headers_of(content), known_layouts(), **asked)
    return layout.name, header


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_header_is_found_below_titles_whatever_stands_in_them(delimiter):
    content = (TITLES + LOG.replace(",", delimiter)).encode()
    name, header = chosen(content)
    assert (name, header.delimiter, header.names) == ("standard-log", delimiter, tuple(HEADER.split(",")))


def test_records_above_the_header_are_no_rows_and_lines_are_those_of_the_file():
    content = (TITLES + LOG).encode()
    expected = [
        (1, ("washer", "2024-01-02", "fixed"), 6),
        (2, ("dryer", "2024-01-03", "fixed"), 7),
    ]
    for block_bytes in (1, 7, 1 << 20):
        records = records_of(content, block_bytes, above=2)
        assert [(record.number, record.cells, record.line) for record in records] == expected


def test_header_is_looked_for_in_the_first_records_only():
    assert chosen(("title\n" * 29 + LOG).encode())[0] == "standard-log"
    with pytest.raises(CannotAnswerError, match="fits no known layout"):
        chosen(("title\n" * 30 + LOG).encode())


def test_where_none_fits_the_widest_record_is_asked_about():
    content = b"Jobs of 2024\nAuftrag,Datum,Arbeit\n1,2,3\n"
    with pytest.raises(CannotAnswerError, match="Its columns are: Auftrag, Datum, Arbeit"):
        chosen(content)
    with pytest.raises(WrongUseError, match="not of the layout standard-log: it has no column unit_type"):
        chosen(content, wanted="standard-log")


def test_sheets_that_fit_are_files_and_the_others_are_named(tmp_path):
    rows = [line.split(",") for line in LOG.splitlines()]
    other = [["unit_type", "reported_at"], ["oven", "2024-03-01"]]
    content = book(
        table(["Notes of Mrs Quillby"]), table(["Jobs"], [], *rows), table(*other), table(*rows), hidden=(3,)
    )
    source = Source(Path("book.xlsx"), content)
    report = load(tmp_path / "store", [source], key_path=tmp_path / "key")
    assert [file.file for file in report.files] == ["book.xlsx, sheet 2", "book.xlsx, sheet 3"]
    assert [row["received"] for row in log_check(tmp_path / "store")] == [2, 1]
    assert report.left_out == (
        "book.xlsx: not read, because no layout fits: sheet 1.",
        "book.xlsx: not read, because hidden: sheet 4.",
    )
    assert all(line in report.text() for line in report.left_out)
    again = load(tmp_path / "store", [source], key_path=tmp_path / "key")
    assert not any(file.is_new for file in again.files)


def test_workbook_in_which_no_sheet_fits_is_asked_about(tmp_path):
    content = book(table(["Notes"]), table(["Auftrag", "Datum"], [1, 2]))
    with pytest.raises(CannotAnswerError, match=r"book\.xlsx, sheet 2 fits no known layout.*Auftrag, Datum"):
        load(tmp_path / "store", [Source(Path("book.xlsx"), content)], key_path=tmp_path / "key")
