"""tables.current_parts: the end of each chain of part numbers; circles are kept apart."""

import pytest

from pipeline.sql import load_folder
from tests.builds import connect
from tests.table_text import assert_table, create_table


def chain(replaced_by):
    con = connect()
    rows = "\n".join(f"{old} | {new}" for old, new in replaced_by.items())
    create_table(con, "tables.parts", f"part_key | replaced_by\n{rows}")
    keys = {*replaced_by, *replaced_by.values()}
    create_table(
        con, "normalise.part_numbers", "part_no | part_key\n" + "\n".join(f"{k} | {k}" for k in keys)
    )
    con.execute(f"create table tables.current_parts as {load_folder('tables')['current_parts']}")
    return con


def test_chain_of_any_length_ends_at_its_last_part():
    con = chain({f"P{n}": f"P{n + 1}" for n in range(40)})
    assert con.execute("select distinct current_key, is_circular from tables.current_parts").fetchall() == [
        ("P40", False)
    ]


@pytest.mark.parametrize(
    "circle", [{"A": "B", "B": "A"}, {"A": "B", "B": "C", "C": "A"}, {"X": "A", "A": "B", "B": "A"}]
)
def test_parts_that_replace_each_other_in_a_circle_are_kept_apart(circle):
    con = chain({**circle, "P": "Q"})
    assert_table(
        con,
        "tables.current_parts",
        "part_key | current_key | is_circular\nP | Q | no\n"
        + "\n".join(f"{key} | {key} | yes" for key in circle),
    )
