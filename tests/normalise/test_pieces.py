"""Several works in one row: which are told apart, what belongs together, and what stays whole."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.normalise.phrase_reader import PhraseReader
from pipeline.normalise.works import Splitter
from pipeline.vocabulary import vocabulary
from pipeline.vocabulary.no_parts import no_parts
from tests.builds import Layout, built
from tests.table_text import assert_table

READER = PhraseReader({}, vocabulary(), no_parts())
SPLIT = ("part_no", "part_name", "action", "quantity")


def works(split=SPLIT, **cells):
    found = Splitter(lambda column, phrase: READER.known("", column, phrase), split).works(cells)
    return [
        tuple(getattr(work, name) for name in ("part_no", "part_name", "action", "quantity"))
        for work in found
    ]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        # One of each, in the signs of the trade.
        *(
            (
                {"part_name": f"inlet valve{sign}hose", "action": "replace"},
                [(None, "inlet valve", "replace", None), (None, "hose", "replace", None)],
            )
            for sign in (" + ", "+", " & ", " / ", "; ", "\n", " and ", ", ", "/")
        ),
        (
            {"part_name": "inlet valve + hose / filter cleaned", "action": "replaced"},
            [
                (None, "inlet valve", "replaced", None),
                (None, "hose", "replaced", None),
                (None, "filter", "cleaned", None),
            ],
        ),
        # Numbers and names as many as each other belong together.
        (
            {"part_no": "12-34; 56.78/9", "part_name": "pump; hose", "action": "replace; clean"},
            [("12-34", "pump", "replace", None), ("56.78/9", "hose", "clean", None)],
        ),
        # A single one is that of every work.
        (
            {"part_no": "12-34, 56-78", "part_name": "hose", "action": "replace"},
            [("12-34", "hose", "replace", None), ("56-78", "hose", "replace", None)],
        ),
        # Nobody can tell whose a single number, or two numbers of three, are.
        (
            {"part_no": "12-34", "part_name": "pump + hose"},
            [(None, "pump", None, None), (None, "hose", None, None)],
        ),
        (
            {"part_no": "1234; 5678", "part_name": "pump + hose + belt"},
            [("1234", None, None, None), ("5678", None, None, None)],
        ),
        # Of several actions on several parts the one that is a work on a part is that of every part.
        (
            {"part_name": "pump + hose + belt", "action": "replaced and tested"},
            [
                *((None, name, "replaced", None) for name in ("pump", "hose", "belt")),
                (None, None, "tested", None),
            ],
        ),
        (
            {"part_name": "pump + hose + belt", "action": "cleaned; replaced"},
            [(None, name, None, None) for name in ("pump", "hose", "belt")],
        ),
        (
            {"part_name": "pump", "action": "clean; test"},
            [(None, "pump", "clean", None), (None, "pump", "test", None)],
        ),
        # A place left open.
        (
            {"part_name": "drain pump; -", "action": "replace; test"},
            [(None, "drain pump", "replace", None), (None, None, "test", None)],
        ),
        # How many.
        ({"part_name": "2 x hose + belt x3"}, [(None, "hose", None, 2), (None, "belt", None, 3)]),
        ({"part_name": "pair of brushes; bulb 2 off"}, [(None, "brushes", None, 2), (None, "bulb", None, 2)]),
        ({"part_no": "12345678 x2"}, [("12345678", None, None, 2)]),
        ({"part_no": "12; 34", "quantity": "2; 1,5"}, [("12", None, None, 2), ("34", None, None, 1.5)]),
        ({"part_no": "12; 34", "quantity": "2"}, [("12", None, None, 2), ("34", None, None, 2)]),
        ({"part_no": "12", "quantity": "2 off"}, [("12", None, None, 2)]),
        # A number with its name beside it.
        ({"part_no": "pump 12345678 x2"}, [("12345678", "pump", None, 2)]),
    ],
)
def test_works_of_a_row(cells, expected):
    assert works(**cells) == expected


@pytest.mark.parametrize(
    "cells",
    [
        {"part_name": "drain pump", "action": "replace", "quantity": "2"},
        # Known phrases that hold a sign or an "and".
        {"part_name": "d/pump"},
        {"part_name": "inlet v/v"},
        {"action": "supplied and fitted"},
        {"action": "s & f"},
        # A stroke or a decimal comma inside a number.
        {"part_no": "123456/2"},
        {"part_no": "1,5"},
        {"part_no": "12345X2"},
        {"part_name": "x/y table"},
        {},
    ],
)
def test_row_of_one_work_stays_as_it_is(cells):
    assert works(**cells) == []


def test_only_the_columns_that_the_layout_names_are_taken_apart():
    assert works(("part_name",), part_no="12 + 34", part_name="pump") == []
    assert works(("part_name",), part_name="pump + hose", action="clean; test") == [
        (None, "pump", "clean; test", None),
        (None, "hose", "clean; test", None),
    ]


def test_running_text_is_no_list_of_works():
    assert works(part_name=" and ".join(f"part {n}" for n in range(200))) == []


LOG = """
job_id | unit_type | reported_at | part_no       | part_name           | action           | quantity | part_cost | finding
J1     | washer    | 2026-01-05  |               | d/pump + hose       | replaced, tested | 2; 1     | 30        |
J2     | washer    | 2026-01-05  | 10-20 & 10-30 |                     | clean            |          | 12        |
J3     | washer    | 2026-01-05  |               | LABOUR + drain pump | replace          |          | 99        |
J4     | washer    | 2026-01-05  | 10-20         |                     | replace          | 4        | 5         |
J5     | washer    | 2026-01-05  |               |                     | replace          | two      |           |
"""


@pytest.fixture(scope="module")
def con():
    return built(LOG, layouts={"plain": Layout(split=SPLIT)}, parts="part_no | part_name\n77-1 | drain pump")


def test_each_piece_is_a_line_with_its_own_part_action_and_quantity(con):
    assert_table(
        con,
        "tables.lines",
        """
        line_no        | record | part_key   | part_no | part_name  | action  | quantity | part_cost_minor | is_worked_part
        1000000000101  | 1      | 771        |         | drain pump | replace | 2        | 3000            | yes
        1000000000102  | 1      | name: hose |         | hose       | replace | 1        |                 | yes
        1000000000103  | 1      |            |         |            | test    |          |                 | no
        1000000000201  | 2      | 1020       | 10-20   |            | clean   |          | 1200            | yes
        1000000000202  | 2      | 1030       | 10-30   |            | clean   |          |                 | yes
        1000000000301  | 3      |            |         |            | replace |          | 9900            | no
        1000000000302  | 3      | 771        |         | drain pump | replace |          |                 | yes
        1000000000401  | 4      | 1020       | 10-20   |            | replace | 4        | 500             | yes
        """,
    )


def test_costs_of_a_job_are_those_that_were_received(con):
    assert con.execute("select part_cost_minor from tables.jobs order by job_id").fetchall() == [
        (3000,),
        (1200,),
        (9900,),
        (500,),
    ]


def test_quantity_that_cannot_be_read_still_sets_its_row_aside(con):
    sql = "select record, problem_column from normalise.lines where problem_reason is not null"
    assert con.execute(sql).fetchall() == [(5, "quantity")]


def test_pieces_and_not_cells_are_phrases(con):
    sql = "select phrase, meaning, rule from normalise.meanings where column_name = 'part_name' order by 1"
    assert con.execute(sql).fetchall() == [
        ("LABOUR", None, "no part"),
        ("d/pump", "drain pump", "vocabulary"),
        ("drain pump", "drain pump", "standard value"),
        ("hose", "hose", "standard value"),
    ]


def test_failures_are_counted_for_each_part_of_a_row(con):
    sql = "select part_key, count(*) from facts.part_works group by 1 order by 1"
    assert con.execute(sql).fetchall() == [("1020", 2), ("1030", 1), ("771", 2), ("name: hose", 1)]


def test_log_without_such_a_layout_is_read_as_it_stands():
    con = built(LOG)
    assert con.execute("select count(*) from normalise.pieces").fetchall() == [(0,)]
    assert con.execute("select part_name from tables.lines where record = 1").fetchall() == []


NAMES = ("d/pump", "inlet v/v", "hose", "brass widget", "on/off switch", "heater", "mains lead", "part 7")
SIGNS = (" + ", "+", " & ", " / ", "; ", ";", "\n", " and ", ", ")


@given(
    st.lists(
        st.tuples(st.sampled_from(NAMES), st.sampled_from(SIGNS), st.integers(1, 99)), min_size=2, max_size=6
    ),
    st.sampled_from((None, "replaced")),
)
def test_works_joined_by_any_signs_come_apart_again(drawn, action):
    names = "".join(f"{name}{sign}" for name, sign, _ in drawn[:-1]) + drawn[-1][0]
    numbers = " + ".join(f"{number}-20/{number}" for _, _, number in drawn)
    found = works(part_name=names, part_no=numbers, action=action)
    assert found == [(f"{number}-20/{number}", name, action, None) for name, _, number in drawn]
