"""JSON, one object a line or in a list: every object gives its rows, every line that is none costs itself only."""

import gzip
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.errors import UnreadableError
from tests.intake.reading import header_of, records_of

RECORDS = st.lists(
    st.dictionaries(
        st.sampled_from(["a", "b", "é"]), st.text(st.sampled_from('x"\\é\n{,'), max_size=5), min_size=1
    ),
    min_size=1,
    max_size=8,
)
NESTED = {
    "job_id": 1,
    "machine": {"id": "M7", "type": "washer"},
    "site": {"id": "S1"},
    "tags": ["a", None, 2],
    "visits": [
        {"on": "2024-01-02", "lines": [{"part": "P1", "cost": 48.0}, {"part": "P2", "kept": True}]},
        {"on": "2024-01-03", "lines": []},
    ],
}


def lines_of(*records):
    return "".join(json.dumps(record) + "\n" for record in records).encode()


def cells_of(content, **options):
    return [record.cells for record in records_of(content, **options)]


def expected(records):
    names = list(dict.fromkeys(name for record in records for name in record))
    return [tuple(record.get(name, "") for name in names) for record in records]


@settings(max_examples=60)
@given(RECORDS, st.sampled_from([1, 3, 8, 64, 1 << 20]))
def test_objects_come_out_as_they_went_in_whatever_is_read_at_a_time(records, block_bytes):
    assert cells_of(lines_of(*records), block_bytes=block_bytes) == expected(records)
    for indent in (None, 1):
        listed = json.dumps(records, indent=indent, ensure_ascii=False).encode()
        assert cells_of(listed, block_bytes=block_bytes) == expected(records)


def test_innermost_records_are_rows_and_what_stands_outside_is_repeated():
    content = lines_of(NESTED, {"job_id": 2})
    assert header_of(content).names == (
        "job_id",
        "machine.id",
        "type",
        "site.id",
        "tags",
        "on",
        "part",
        "cost",
        "kept",
    )
    before = ("1", "M7", "washer", "S1", "a; 2")
    assert cells_of(content) == [
        (*before, "2024-01-02", "P1", "48", ""),
        (*before, "2024-01-02", "P2", "", "yes"),
        (*before, "2024-01-03", "", "", ""),
        ("2", "", "", "", "", "", "", "", ""),
    ]
    assert [record.line for record in records_of(content)] == [1, 1, 1, 2]


def test_one_object_over_several_lines_is_read_with_the_rows_inside_it():
    content = json.dumps(
        {"exported": "2024-05-01", "jobs": [{"job_id": "J1"}, {"job_id": "J2"}]}, indent=2
    ).encode()
    assert cells_of(content) == [("2024-05-01", "J1"), ("2024-05-01", "J2")]


def test_two_lists_beside_each_other_are_no_product():
    content = lines_of({"job_id": "J1", "parts": [{"part": "P1"}], "labour": [{"min": 40}, {"min": 20}]})
    assert cells_of(content) == [("J1", "P1", ""), ("J1", "", "40"), ("J1", "", "20")]


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (b'{"x":', "not valid JSON"),
        (b'{"x": 1} tail', "not valid JSON"),
        (b'{"x": "tab\there"}', "not valid JSON"),
        (b'"text"', "JSON, but not an object of names and values"),
        (b"[1, 2]", "JSON, but not an object of names and values"),
        (b"null", "JSON, but not an object of names and values"),
        (b'{"x": 1, "x": 2}', "an object with the same name twice"),
        (b'{"x":' * 9000 + b"1" + b"}" * 9000, "JSON that is nested too deeply"),
        (b'{"x":' * 30 + b"1" + b"}" * 30, "JSON that is nested more than 16 deep"),
        (b"[" * 9000, "JSON that is nested too deeply"),
        (b'{"x": [[{"y": 1}]]}', "JSON that is a list of lists of records"),
        (b'{"x": "a\\u0000b"}', "a NUL character"),
    ],
)
def test_line_that_gives_no_row_is_set_aside_with_its_line(line, problem):
    records = records_of(b'{"x": 1}\n\n' + line + b'\n{"x": 2}\n')
    assert [(record.cells, record.problem, record.line) for record in records] == [
        (("1",), None, 1),
        ((None,), problem, None),
        (("2",), None, None),
    ]


def test_first_line_may_be_broken_too():
    assert cells_of(b'{"x": 1, oops}\n{"x": 2}\n{"x": 3}\n') == [(None,), ("2",), ("3",)]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("48.00", "48"), ("1e-9", "0.000000001"), ("NaN", ""), ("1e999", "inf"), ("false", "no"), ("null", ""),
        ("123456789012345678901234567890", "123456789012345678901234567890"),
        ('"\\ud800x"', "?x"), ('"00123"', "00123"),
    ],
)  # fmt: skip
def test_values_are_written_one_way(value, text):
    assert cells_of(f'{{"x": {value}}}\n'.encode()) == [(text,)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encoding_and_packing_do_not_matter(encoding):
    content = '{"x": "café"}\r\n{"x": 2}\r\n'.encode(encoding)
    assert cells_of(content) == cells_of(gzip.compress(content)) == [("café",), ("2",)]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"[]", "holds no row"),
        (b"{}\n{}\n", "holds no row"),
        (b'[["x", "y"], [1, 2]]', "holds no row"),
        (b'[{"x": 1},\n{"x": 2', "line 2 is not valid JSON"),
        (b'[{"x": 1},\n{"x": oops},\n{"x": 3}]', "line 2 is not valid JSON"),
        (b'[{"x": 1},\n{"x": 2}\n', "line 3 ends before the list does"),
        (b'[{"x": 1}]\n{"x": 2}', "line 2 goes on after the end of the list"),
        (b"".join(b'{"job %d": 1}\n' % n for n in range(17_000)), "16,384 different names"),
    ],
)
def test_what_gives_no_rows_is_refused_in_one_sentence(content, says):
    with pytest.raises(UnreadableError, match=says):
        header_of(content)


def test_slip_in_one_record_renames_no_column_of_all():
    good = {"job": 1, "visits": [{"on": "2024-01-01", "done": "clean"}]}
    slip = {"job": 2, "visitz": [{"on": "2024-01-02", "done": "free"}]}
    names = ("job", "on", "done")
    assert header_of(lines_of(*[good] * 40, slip)).names == (*names, "visitz.on", "visitz.done")
    assert header_of(lines_of(slip, *[good] * 40)).names == (names[0], "visitz.on", "visitz.done", *names[1:])
    assert header_of(lines_of(*[good] * 4, slip)).names == (
        *("job", "visits.on", "visits.done"),
        *("visitz.on", "visitz.done"),
    )


def test_short_line_cannot_fill_the_memory():
    content = lines_of({"x": "a" * 60_000, "l": [{}] * 60_000}, {"x": "b"})
    assert [record.problem for record in records_of(content)] == [
        "JSON that is too long with everything repeated",
        None,
    ]


def test_csv_whose_first_header_has_brackets_is_csv():
    assert header_of(b"[Job No],{x}\n1,2\n").names == ("[Job No]", "{x}")


def test_character_that_no_text_may_hold_costs_only_the_rows_it_stands_in():
    record = {"job": 1, "works": [{"did": "clean"}, {"did": "te\0st"}, {"did": "replace"}]}
    assert [record.problem for record in records_of(lines_of(record))] == [None, "a NUL character", None]
