"""tables.part_groups: parts that do the same work, whatever their number; figures by them count them as one part."""

from datetime import datetime

import pytest

from pipeline import normalise
from pipeline.build import put_settings
from pipeline.errors import UnreadableError
from pipeline.measures import Question, evaluate
from pipeline.settings import Settings
from pipeline.sql import run_folder
from pipeline.vocabulary.function_groups import function_groups
from sample_logs import truth
from tests.builds import built, connect, receive
from tests.table_text import assert_table

PARTS = """
part_no | part_name    | replaced_by
A-1     | d/pump       |
B-77    | Outlet pump  |
C-5     | pump         |
D-1     | pump         | A-1
E-9     | wash pump    |
F-2     |              | E-9
G-3     | Thrumble 4   |
"""
LOG = """
job_id | unit_type  | unit_id | reported_at | finished_at | outcome | part_no | part_name    | action
J1     | dishwasher | M1      | 2026-01-01  | 2026-01-01  | fixed   | A-1     |              | replace
J2     | dishwasher | M1      | 2026-02-10  | 2026-02-10  | fixed   | B-77    |              | replace
J3     | dishwasher | M1      | 2026-02-20  | 2026-02-20  | fixed   | A-1     |              | replace
J4     | dishwasher | M2      | 2026-01-03  | 2026-01-03  | fixed   | Z-8     | pompe vidange perso | replace
J5     | dishwasher | M2      | 2026-03-03  | 2026-03-03  | fixed   | C-5     |              | replace
J6     | dishwasher | M3      | 2026-01-03  | 2026-01-03  | fixed   |         | drain pump   | replace
"""
GROUPS = """
part_key         | function_group
A1               | drain pump
B77              | drain pump
D1               | drain pump
E9               | circulation pump
F2               | circulation pump
G3               | thrumble 4
Z8               | pompe vidange perso
name: drain pump | drain pump
"""


def own_build(folder, text):
    """A build with the shop's own groups beside it."""
    (folder / "function_group.toml").write_text(text, encoding="utf-8")
    con = connect()
    receive(con, [LOG], parts=PARTS)
    put_settings(con, Settings())
    normalise.run(con, Settings(), {}, folder)
    run_folder(con, "tables")
    return con


def test_group_is_the_name_or_that_of_the_number_which_replaced_it_and_a_bare_pump_has_none():
    assert_table(built(LOG, parts=PARTS, facts=False), "tables.part_groups", GROUPS)


def test_what_the_shop_wrote_of_numbers_and_names_wins(tmp_path):
    own = 'ambiguous = ["thrumble 4"]\n[groups]\n"drain pump" = ["c5", "Pompe vidange perso"]\n"any pump" = ["e.9"]\n'
    con = own_build(tmp_path, own)
    found = dict(con.execute("select part_key, function_group from tables.part_groups").fetchall())
    assert (found["C5"], found["Z8"], found["E9"]) == ("drain pump", "drain pump", "any pump")
    # The number that E-9 replaced goes with it; what the shop calls ambiguous makes no group.
    assert found["F2"] == "any pump"
    assert "G3" not in found


def test_a_bare_word_is_a_group_where_the_shop_says_so(tmp_path):
    found = dict(
        own_build(tmp_path, '[groups]\n"drain pump" = ["Pumps"]\n')
        .execute("select part_key, function_group from tables.part_groups")
        .fetchall()
    )
    assert found["C5"] == "drain pump"


@pytest.mark.parametrize(
    "text",
    [
        "[groups",
        "groups = 3",
        '[groups]\n"a" = "b"',
        '[means]\n"a" = ["b"]',
        '[groups]\n"a" = ["X"]\n"b" = ["x"]',
    ],
)
def test_own_file_that_cannot_be_read_is_named_with_its_form(tmp_path, text):
    (tmp_path / "function_group.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableError, match=r"function_group\.toml could not be read: .*\[groups\]"):
        function_groups(tmp_path)


@pytest.fixture(scope="module")
def build():
    return built(LOG, parts=PARTS)


def asked(con, name, **question):
    return evaluate(con, name, Question(complete_to=datetime(2026, 4, 1), **question))


def test_failures_of_a_group_are_those_of_all_its_numbers_and_a_repeat_on_another_number_is_none(build):
    (row,) = [
        row
        for row in asked(build, "part-failure-rate", by=("function_group",)).iter_rows(named=True)
        if row["function_group"] == "drain pump"
    ]
    # M1: its first job came before it was followed; J2 is a failure, J3 within 30 days of it a repeat.
    assert (row["numerator"], row["jobs"]) == (1, 2)
    # M1 from 2 January on without the days of J2 and J3 with 30 more; M2 and M3 from 4 January on; J1's and J6's own 30 days.
    m1 = (datetime(2026, 4, 1) - datetime(2026, 1, 1)).days - 30 - (10 + 30)
    m2 = (datetime(2026, 4, 1) - datetime(2026, 1, 3)).days
    assert row["denominator"] * 365.25 == pytest.approx(m1 + m2 + m2 - 30)
    assert row["note"].endswith("1 part without a function group left out")


def test_shares_of_a_group_count_a_job_once(build):
    found = asked(build, "part-failure-rate", by=("function_group",), basis="shares")
    shares = {
        row["function_group"]: (row["numerator"], row["denominator"]) for row in found.iter_rows(named=True)
    }
    assert shares == {"drain pump": (4, 6), "pompe vidange perso": (1, 6)}


def test_beside_a_number_the_group_only_stands_there(build):
    found = asked(build, "part-failure-rate", by=("part_no", "function_group"), basis="shares")
    assert found.select("part_no", "function_group", "numerator").rows() == [
        ("A-1", "drain pump", 2),
        ("B-77", "drain pump", 1),
        ("C-5", None, 1),
        ("Z-8", "pompe vidange perso", 1),
        (None, "drain pump", 1),
    ]


def test_a_life_ends_with_work_on_any_number_of_its_group(build):
    by_number = asked(build, "part-life", by=("part_no",), days=60)
    assert {row["part_no"]: row["numerator"] for row in by_number.iter_rows(named=True)}["A-1"] == 1
    by_group = asked(build, "part-life", by=("function_group",), days=60)
    ended = {
        row["function_group"]: (row["numerator"], row["denominator"])
        for row in by_group.iter_rows(named=True)
    }
    # J1 ends on B-77 after 40 days and J2 on A-1 after 10; by number A-1's first life would have lasted 50 days.
    assert ended["drain pump"] == (2, 4)


def test_superseded_number_and_its_successor_have_together_the_planted_rate(sample):
    question = Question(by=("unit_type", "function_group"), level=0.999)
    found = evaluate(sample, "part-failure-rate", question)
    planted = truth.part_failure_rates("unit_type", complete_to=found["complete_to"][0].date())
    (true,) = [planted[group] for group in planted if group[1] in truth.SPLIT_BY_SUPERSESSION]
    (row,) = found.filter(unit_type="ice maker", function_group="inlet valve").rows(named=True)
    assert row["low"] <= true.value <= row["high"]
    assert row["denominator"] == pytest.approx(true.weight, rel=0.02)
