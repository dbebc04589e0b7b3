"""facts.part_needs: what jobs needed, by hand and against a twin in plain Python."""

import math
from collections import defaultdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.facts.drawn import drawn, make
from tests.table_text import assert_table, create_table

LINE_TYPES = {
    "job_no": "bigint", "visit_no": "integer", "part_key": "varchar", "part_status": "varchar", "part_source": "varchar",
    "quantity": "double", "action": "varchar", "part_cost_minor": "bigint",
}  # fmt: skip
VISIT_TYPES = {
    "job_no": "bigint", "visit_no": "integer", "started_on": "date", "finished_on": "date", "booked_for_on": "date",
}  # fmt: skip


def needs(lines, *, jobs="1 | fixed", visits="", replaced=""):
    con = drawn(
        tables__jobs="job_no:bigint | outcome | first_attended_no:integer | job_kind\n"
        + "\n".join(f"{job} | 1 | fault" for job in jobs.splitlines()),
        tables__current_parts=f"part_key | current_key\n{replaced}",
    )
    create_table(con, "tables.lines", lines, also=LINE_TYPES)
    create_table(con, "tables.visits", visits, also=VISIT_TYPES)
    make(con, "part_needs")
    return con


HEAD = "job_no:bigint | visit_no:integer | part_key | part_status | action"


def test_part_that_was_missing_and_then_fitted_is_one_need():
    con = needs(
        f"{HEAD}\n1 | 1 | P1 | needed not on van | inspect\n1 | 1 | P1 | ordered |\n1 | 2 | P1 | fitted | replace",
        visits="job_no:bigint | visit_no:integer | finished_on:date\n1 | 1 | 2026-01-05\n1 | 2 | 2026-01-09",
    )
    assert_table(
        con,
        "facts.part_needs",
        "job_no | part_key | pieces | was_there | asked_on | fitted_on\n1 | P1 | 1 | no | 2026-01-05 | 2026-01-09",
    )


@pytest.mark.parametrize(
    "line",
    [
        "P1 | | clean",
        "P1 | fitted | clean",
        "P1 | taken out again | replace",
        "P1 | returned | replace",
        "P1 | faulty new | replace",
        " | fitted | replace",
    ],
)
def test_what_takes_no_piece_is_no_need(line):
    assert_table(needs(f"{HEAD}\n1 | 1 | {line}"), "facts.part_needs", "job_no | part_key")


@pytest.mark.parametrize("source", ["customer-supplied", "used"])
def test_part_that_is_not_from_our_stock_is_no_need(source):
    con = needs(f"{HEAD} | part_source\n1 | 1 | P1 | fitted | replace | {source}")
    assert_table(con, "facts.part_needs", "job_no | part_key")


@pytest.mark.parametrize("line", ["P1 | | replace", "P1 | fitted |", "P1 | fitted | none"])
def test_part_fitted_at_the_first_visit_was_there(line):
    con = needs(f"{HEAD}\n1 | 1 | {line}")
    assert_table(con, "facts.part_needs", "part_key | pieces | was_there\nP1 | 1 | yes")


def test_pieces_are_whole_and_add_up_over_lines():
    con = needs(f"{HEAD} | quantity:double\n1 | 1 | P1 | | replace | 2\n1 | 2 | P1 | | replace | 0.5")
    assert_table(con, "facts.part_needs", "part_key | pieces | was_there\nP1 | 3 | no")


def test_order_that_the_customer_declined_is_no_need():
    con = needs(f"{HEAD}\n1 | 1 | P1 | ordered |", jobs="1 | quote declined")
    assert_table(con, "facts.part_needs", "job_no")
    cancelled = needs(f"{HEAD}\n1 | 1 | P1 | ordered |", jobs="1 | cancelled")
    assert_table(cancelled, "facts.part_needs", "job_no | pieces\n1 | 1")


def test_old_and_new_number_of_a_part_are_one_need():
    con = needs(
        f"{HEAD}\n1 | 1 | OLD | needed not on van |\n1 | 2 | NEW | fitted | replace", replaced="OLD | NEW"
    )
    assert_table(con, "facts.part_needs", "part_key | pieces\nNEW | 1")


def twin(lines, declined):
    """Pieces, and whether all were there, by job and part; plain counting."""
    fitted, first = defaultdict(float), defaultdict(float)
    asked = defaultdict(lambda: defaultdict(float))
    for job, visit, part, status, source, quantity, action in lines:
        if source in ("customer-supplied", "used"):
            continue
        pieces = math.ceil(quantity) if quantity is not None and quantity > 0 else 1
        if status in ("needed not on van", "ordered"):
            asked[job, part][visit, status] += pieces
            continue
        is_piece = action == "replace" or (status == "fitted" and action in (None, "none"))
        if status in (None, "fitted") and is_piece and (quantity is None or quantity > 0):
            fitted[job, part] += pieces
            first[job, part] += pieces if visit == 1 else 0
    found = {}
    for key in {*fitted, *asked}:
        wanted = 0 if key[0] in declined else max(asked[key].values(), default=0)
        pieces = max(fitted[key], wanted)
        if pieces:
            found[key] = (pieces, first[key] >= pieces)
    return found


LINES = st.lists(
    st.tuples(
        st.integers(1, 3),
        st.integers(1, 2),
        st.sampled_from(["P1", "P2"]),
        st.sampled_from([None, "fitted", "needed not on van", "ordered", "taken out again", "faulty new"]),
        st.sampled_from([None, None, "genuine", "used", "customer-supplied"]),
        st.sampled_from([None, 1.0, 2.0, 0.5, 0.0]),
        st.sampled_from([None, "replace", "clean", "none", "inspect"]),
    ),
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(lines=LINES)
def test_needs_are_those_of_the_twin(lines):
    con = needs("", jobs="1 | fixed\n2 | quote declined\n3 |")
    if lines:
        con.executemany("insert into tables.lines values (?, ?, ?, ?, ?, ?, ?, null)", lines)
    make(con, "part_needs")
    found = con.execute("select job_no, part_key, pieces, was_there from facts.part_needs").fetchall()
    assert {(job, part): (pieces, there) for job, part, pieces, there in found} == twin(lines, {2})
