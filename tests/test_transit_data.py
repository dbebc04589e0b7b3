"""
Equipment delays of a subway's open data in: every row accounted for, and nothing said that they do not say.

TTC Subway Delay Data 2018-2021, equipment codes only (Toronto Transit Commission, City of Toronto open data). Contains
information licensed under the Open Government Licence – Toronto. The counts below stand in the SOURCE.md beside the
file; they were made without this project's code.
"""

from pathlib import Path

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.store.folder import Store

DATA = Path(__file__).parent.parent.parent / "shared/open_data/transit_equipment"
DELAYS = "subway_equipment_delays_2018_2021.csv"

pytestmark = pytest.mark.skipif(
    not DATA.is_dir(), reason="the transit data does not lie beside this checkout (../shared/open_data)"
)

# The next row of the same vehicle with the same code, by date and time, comes within 30 x 24 hours inclusive. It counts
# rows: a second report of one delay on the same day counts, an exact duplicate is the next row after its first copy, and
# rows of the last 30 days are counted although nothing follows them up. So it is no figure of `repeat-visits`.
RECURRENCE = """
with ordered as (
    select
        reported_at,
        lead(reported_at) over (partition by unit_id, fault_code order by reported_at, row_no) as next_at
    from {rows}
    where unit_id is not null
)
select count(*) filter (where next_at <= reported_at + interval 720 hours), count(*)
from ordered
"""


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("transit")
    load(folder / "store", [DATA / DELAYS], key_path=folder / "key")
    return folder / "store"


@pytest.fixture
def con(store):
    with Store(store).connect() as connection:
        yield connection


def one(con, sql):
    return con.execute(sql).fetchall()[0]


def test_every_row_is_used_but_the_exact_duplicates(store):
    (row,) = log_check(store)
    # A row that says word for word what an earlier row said is repeated: 15 beyond the first copies.
    assert (row["received"], row["repeated"], row["used"]) == (5_956, 15, 5_956 - 15)
    assert (row["set_aside"], row["replaced"]) == (0, 0)


def test_vehicles_are_those_that_were_recorded(con):
    known = "select count(*), count(distinct unit_id) from normalise.lines where unit_id is not null"
    assert one(con, known) == (5_817, 587)


def test_recurrence_agrees_with_the_published_count(con):
    assert one(con, RECURRENCE.format(rows="normalise.lines")) == (1_177, 5_817)
    # Over the rows that are used: each of the 15 exact duplicates was one such row, and is left out.
    assert one(con, RECURRENCE.format(rows="tables.used_lines")) == (1_177 - 15, 5_817 - 15)


def test_code_names_a_part_only_where_it_is_one(con):
    sql = (
        "select fault_code, part_name, count(*) from normalise.lines group by all order by 3 desc, 1 limit 8"
    )
    assert con.execute(sql).fetchall() == [
        ("EUSC", "speed control equipment", 1_584),
        ("EUDO", "doors", 875),
        ("EUBK", "brakes", 590),
        ("EUNT", None, 444),
        ("ERDO", "doors", 293),
        ("EUBO", "body", 233),
        ("EUPI", "propulsion system", 180),
        ("EUCD", None, 170),
    ]
    assert one(
        con, "select count(*) from normalise.meanings where rule <> 'layout' and column_name = 'part_name'"
    ) == (0,)


def test_no_trouble_found_is_no_part_failure_and_every_other_end_is_unknown(con):
    sql = "select outcome, count(*) from normalise.lines group by 1 order by 1"
    assert con.execute(sql).fetchall() == [("no fault found", 444 + 16), ("unknown", 5_956 - 460)]
    assert one(con, "select count(*) from tables.lines where is_worked_part") == (0,)


def test_minutes_of_delay_are_no_time_to_fix(con):
    for clock in ("hands-on", "restored", "visits"):
        with pytest.raises(CannotAnswerError):
            evaluate(con, "time-to-fix", Question(clock=clock))


@pytest.mark.parametrize("basis", [None, "machines-seen", "machine-list", "shares"])
def test_no_failure_rate_is_named(con, basis):
    with pytest.raises(CannotAnswerError):
        evaluate(con, "part-failure-rate", Question(basis=basis))


def test_nothing_is_known_to_have_been_fixed(con):
    for figure in ("repeat-visits", "fixed-share"):
        with pytest.raises(CannotAnswerError):
            evaluate(con, figure, Question())
