"""Every record of a CSV file comes out once, in order, whatever is wrong with it."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake import cells
from tests.intake.reading import header_of, records_of

CELL = st.text(st.sampled_from('ab ,;"\n5é'), max_size=6)
ROWS = st.lists(st.lists(CELL, min_size=3, max_size=3), max_size=12)
# Pieces from which everything that can go wrong with quotation marks is put together.
RAGGED = (
    st.lists(
        st.sampled_from(["a", '"', ",", "\n", "\r\n", "\r", '""', ',"', '",', 'x"', "é", "\0", " "]),
        max_size=40,
    )
    .map("".join)
    .filter(lambda text: text.count("\0") < 3)
)


def written(rows, delimiter=",", quoting=csv.QUOTE_MINIMAL):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, quoting=quoting, lineterminator="\n").writerows(rows)
    return out.getvalue().encode()


@settings(max_examples=100, deadline=None)
@given(ROWS, st.sampled_from([",", ";", "\t"]), st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
def test_well_formed_rows_come_out_as_they_went_in(rows, delimiter, quoting):
    content = written([["one", "two", "three"], *rows], delimiter, quoting)
    assert [record.cells for record in records_of(content)] == [tuple(row) for row in rows]


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.lists(st.from_regex(r'[a-z5] ?"{0,2}[a-z5"]{0,3}', fullmatch=True), min_size=3, max_size=3),
        max_size=8,
    )
)
def test_marks_inside_cells_without_quotes_are_what_the_csv_module_says(rows):
    content = "\n".join([",".join(row) for row in [["one", "two", "three"], *rows]])
    expected = list(csv.reader(io.StringIO(content)))[1:]
    assert [list(record.cells) for record in records_of(content.encode(), 16)] == expected


@settings(max_examples=40, deadline=None)
@given(RAGGED)
def test_slow_reading_gives_what_quick_reading_gives(text):
    content = ("one,two,three\n" + text).encode()
    quick = records_of(content)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cells, "_parse_at_once", lambda *_: None)
        assert records_of(content) == quick


@settings(max_examples=80, deadline=None)
@given(RAGGED, st.sampled_from([1, 2, 3, 5, 8, 13]))
def test_records_do_not_depend_on_the_size_of_the_blocks(text, block_bytes):
    content = ("one,two,three\n" + text).encode()
    assert records_of(content, block_bytes) == records_of(content)


@settings(max_examples=80, deadline=None)
@given(RAGGED)
def test_no_line_with_something_in_it_gets_lost(text):
    records = records_of(("one,two,three\n" + text).encode())
    assert [record.number for record in records] == list(range(1, len(records) + 1))
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    starts = {record.line or record.number + 1 for record in records}
    assert min(starts, default=0) == next((n for n, line in enumerate(lines, 2) if line.strip()), 0)
    assert not any(record.problem and any(cell is not None for cell in record.cells) for record in records)


def test_line_break_inside_quotes_belongs_to_the_cell_in_blocks_of_any_size():
    content = b'one,two\n1,"first\nsecond"\n2,x\n'
    for block_bytes in range(1, len(content) + 1):
        assert [record.cells for record in records_of(content, block_bytes)] == [
            ("1", "first\nsecond"),
            ("2", "x"),
        ]


def test_physical_line_is_told_once_it_is_not_the_record_number():
    records = records_of(b'one,two\n1,x\n2,"a\nb"\n3,y\n\n4,z\n')
    assert [(record.number, record.line) for record in records] == [(1, None), (2, None), (3, 5), (4, 7)]


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("1,2", "2 fields where the header has 3"),
        ("1", "1 field where the header has 3"),
        ("1,2,3,4", "4 fields where the header has 3"),
        ('"1,2,3', "quotation marks that do not pair"),
        ('"1"x,2,3', "quotation marks that do not pair"),
        ("1,2,\0", "a NUL character"),
    ],
)
def test_row_that_cannot_be_cut_into_cells_is_kept_and_says_why(row, problem):
    records = records_of(f"one,two,three\na,b,c\n{row}\nd,e,f\n".encode())
    assert [record.cells for record in records] == [("a", "b", "c"), (None, None, None), ("d", "e", "f")]
    assert [record.problem for record in records] == [None, problem, None]


def test_field_that_never_closes_costs_one_line_and_not_the_file():
    body = "".join(f"{n},x,y\n" for n in range(20_000))
    records = records_of(f'one,two,three\n0,"open,z\n{body}'.encode(), 4096)
    assert len(records) == 20_001
    assert [record.number for record in records if record.problem] == [1]


@pytest.mark.parametrize(
    ("row", "cells"),
    [
        ('5" hose,x,y', ('5" hose', "x", "y")),
        ('a,1/2" to 3/4",y', ("a", '1/2" to 3/4"', "y")),
        ('"say ""no""",x,y', ('say "no"', "x", "y")),
        ('"",x,""', ("", "x", "")),
        (' "a",x,y', (' "a"', "x", "y")),
        ("a,b,c,,", ("a", "b", "c")),
        (",,", ("", "", "")),
    ],
)
def test_marks_in_unusual_places_are_read_as_they_are_meant(row, cells):
    (record,) = records_of(f"one,two,three\n{row}\n".encode())
    assert (record.cells, record.problem) == (cells, None)


def test_blank_lines_are_no_records():
    assert len(records_of(b"\none,two\n\n1,2\n   \n3,4\n\n\n")) == 2


def test_last_line_without_a_line_end_is_a_record():
    assert records_of(b"one,two\n1,2")[0].cells == ("1", "2")


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_header_row_tells_the_delimiter(delimiter):
    header = header_of(delimiter.join(["a, b" if delimiter == ";" else "a", "b", "c"]).encode() + b"\n")
    assert (header.delimiter, len(header.names)) == (delimiter, 3)


def test_header_may_hold_quotes_and_a_line_break():
    content = b'"job\nno","made, on",x\n1,2,3\n'
    assert header_of(content).names == ("job\nno", "made, on", "x")
    assert [record.cells for record in records_of(content)] == [("1", "2", "3")]


def test_file_of_one_column_is_read():
    assert [record.cells for record in records_of(b"only\na\n\nb\n")] == [("a",), ("b",)]
