"""What to check first: the least expected minutes, with what keeps people safe always in front."""

from datetime import date
from itertools import permutations

import numpy as np
import pytest

from pipeline.errors import UnreadableError
from pipeline.measures.check_order import check_order
from pipeline.measures.check_words import order_text
from pipeline.measures.symptom_fixes import Fixes
from pipeline.planning.check_order import Check, minutes_of
from pipeline.vocabulary.check_minutes import SHOP, check_table


def fixes(*found, other=1.0):
    """Fixes from (key, name, jobs)."""
    rows = [
        {"part_no": None if key.startswith("outside") else key, "part_name": name} for key, name, _ in found
    ]
    weights = np.array([*(jobs for _, _, jobs in found), other])
    return Fixes([*rows, {}], tuple(key for key, _, _ in found), weights, None, date(2026, 1, 1), 0)


def names(order):
    return [step.part_name or step.stage for step in order.steps]


@pytest.fixture
def table(tmp_path):
    def make(text=""):
        (tmp_path / "check_minutes.toml").write_text(text)
        return check_table(tmp_path)

    return make


PARTS = """
[parts.quick]
check = "look"
minutes = 1
finds = 1.0
behind = ""
[parts.slow]
check = "measure"
minutes = 10
finds = 1.0
behind = ""
[parts.watched]
check = "watch it run"
minutes = 1
finds = 1.0
behind = ""
running = true
[parts.behind]
check = "look behind"
minutes = 1
finds = 1.0
behind = "back panel"
"""


def test_safety_then_the_installation_then_dead_tests_then_the_running_machine(table):
    found = fixes(("W", "watched", 80.0), ("S", "slow", 1.5), ("Q", "quick", 2.0))
    order = check_order(found, table(PARTS))
    assert names(order) == ["isolation", "installation", "quick", "slow", "watched"]


def test_expected_minutes_are_those_of_the_book(table):
    found = fixes(
        ("S", "slow", 50.0),
        ("Q", "quick", 30.0),
        ("outside: tap part closed", "tap part closed", 20.0),
        other=0.0,
    )
    order = check_order(found, table(PARTS))
    # Isolation 3 and the look 2 always; the look finds 0.8 x 0.2; quick 1 for the rest, slow 10 for what is left.
    assert order.expected_min == pytest.approx(3 + 2 + 0.84 * 1 + (0.84 - 0.3) * 10)
    assert order.most_often_first_min == pytest.approx(3 + 2 + 0.84 * 10 + (0.84 - 0.5) * 1)


def test_no_order_within_the_dead_tests_takes_less(table):
    found = fixes(
        ("Q", "quick", 3.0),
        ("S", "slow", 60.0),
        ("B", "behind", 20.0),
        ("F", "flow meter", 30.0),
        ("I", "inlet valve", 12.0),
    )
    whole = table(PARTS)
    order = check_order(found, whole)
    names_of_panels, panels = list(whole.panels), [panel.minutes for panel in whole.panels.values()]
    total = 126.0
    checks = []
    for name, jobs in (("quick", 3), ("slow", 60), ("behind", 20), ("flow meter", 30), ("inlet valve", 12)):
        entry = whole.of_part(name)
        checks.append(
            Check(
                jobs / total,
                entry.finds,
                entry.minutes,
                tuple(map(names_of_panels.index, whole.way_to(entry.behind))),
            )
        )
    best = min(minutes_of(some, checks, panels) for some in permutations(range(5)))
    assert order.expected_min == pytest.approx(5 + best)


def test_what_is_out_or_off_already_costs_nothing_more(table):
    found = fixes(("B", "behind", 5.0))
    whole = table(PARTS)
    steps = [
        check_order(found, whole, machine_out=out, panel_off=off).steps[-1]
        for out, off in ((False, False), (True, False), (False, True))
    ]
    assert [(step.panel_min, step.panels) for step in steps] == [
        (10.0, ("machine out", "back panel")),
        (4.0, ("back panel",)),
        (0.0, ()),
    ]


def test_after_a_miss_the_rest_is_likelier_and_the_missed_one_is_gone(table):
    found = fixes(("S", "slow", 50.0), ("F", "flow meter", 50.0), other=0.0)
    before, after = (check_order(found, table(PARTS), missed=missed) for missed in ((), ("flow meter",)))
    chance = {step.part_name: step.probability for step in before.steps}
    assert chance["slow"] == pytest.approx(0.5)
    # The check of a flow meter finds 0.9: 0.5 x 0.1 is left there.
    assert after.steps[-1].probability == pytest.approx(0.5 / 0.55)
    assert "flow meter" not in names(after)
    assert "installation" not in names(check_order(found, table(PARTS), missed=("installation",)))


def test_a_part_on_the_van_is_fitted_only_after_its_own_check_and_only_where_that_is_doubtful(table):
    found = fixes(("B", "control board", 50.0), ("F", "flow meter", 50.0), other=0.0)
    order = check_order(found, table(PARTS), on_van=("control board", "flow meter"))
    assert names(order) == ["isolation", "installation", "flow meter", "control board", "control board"]
    last = order.steps[-1]
    assert (last.stage, last.minutes, last.panel_min) == ("running", 15.0, 0.0)
    # The check of a board finds 0.6 of its faults: 0.5 x 0.4 is left for the part from the van.
    assert last.probability == pytest.approx(0.2)
    after = check_order(found, table(PARTS), on_van=("control board",), missed=("control board",))
    assert [step.part_name for step in after.steps[2:]] == ["flow meter", "control board"]
    assert after.steps[-1].probability == pytest.approx(0.2 / 0.7)


def test_nothing_is_fitted_on_suspicion(table):
    slow = '[parts.odd]\ncheck = "measure"\nminutes = 60\nfinds = 0.3\nbehind = ""\n'
    order = check_order(fixes(("O", "odd", 5.0)), table(slow), on_van=("odd",))
    assert [step.check for step in order.steps[2:]] == ["measure"]


def test_orders_that_cannot_be_told_apart_are_said_to_be_equal(table):
    alike = check_order(fixes(("D", "door latch", 5.0), ("L", "lint filter", 5.0)), table())
    assert alike.steps[-2].same_as_next
    clear = check_order(fixes(("D", "door latch", 95.0), ("L", "lint filter", 3.0)), table())
    assert not clear.steps[-2].same_as_next


def test_works_done_together_are_shared_out(table):
    order = check_order(
        fixes(("F + I", "flow meter + inlet valve", 10.0), ("F", "flow meter", 10.0), other=0.0), table()
    )
    chance = {step.part_name: step.probability for step in order.steps}
    assert chance["flow meter"] == pytest.approx(0.75)
    assert chance["inlet valve"] == pytest.approx(0.25)


@pytest.mark.parametrize("name", ["gas valve", "compressor", "magnetron", "boiler"])
def test_what_licensed_people_look_at_is_named_and_never_put_into_the_order(table, name):
    order = check_order(fixes(("X", name, 90.0), ("D", "door latch", 5.0)), table())
    assert names(order) == ["isolation", "installation", "door latch"]
    assert order.licensed == (name,)
    assert f"For licensed people, not in this order: {name}" in order_text(order)


def test_at_a_microwave_nothing_is_checked_with_the_cover_off(table):
    order = check_order(fixes(("D", "door switch", 9.0), ("F", "fan motor", 5.0)), table(), "microwave")
    assert names(order) == ["isolation", "installation"]


def test_the_shops_own_minutes_win_and_are_named(table):
    whole = table('[parts."flow meter"]\nminutes = 11\n')
    entry = whole.of_part("flowmeter")
    assert (entry.minutes, entry.source) == (11.0, SHOP)
    assert entry.check == check_table().of_part("flow meter").check


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[parts.x]\nminutes = "long"\n', "parts.x.minutes must be a number"),
        ("[parts.x]\nfinds = 2\n", "parts.x.finds must be a number from 0 to 1"),
        ('[parts.x]\nbehind = "roof"\n', "stands behind “roof”"),
        (
            '[panels]\n"a" = { minutes = 1, behind = "b" }\n"b" = { minutes = 1, behind = "a" }\n',
            "stands behind itself",
        ),
        ('[panels]\n"a" = 3\n', "must be written"),
        ("[parts.x]\nrunning = 1\n", "running must be true or false"),
        ("minutes = \n", "could not be read"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_by_name(table, text, says):
    with pytest.raises(UnreadableError, match=says):
        table(text)


def test_no_check_of_the_table_is_made_under_voltage():
    whole = check_table()
    entries = [whole.installation, whole.other, *whole.parts.values()]
    assert all(
        word not in entry.check.casefold() for entry in entries for word in ("voltage", "live", "volt")
    )
    assert all("closed" in entry.check for entry in entries if entry.running)


def test_two_numbers_of_one_part_are_looked_at_in_one_check():
    found = fixes(("DP-1", "drain pump", 20.0), ("DP-2", "drain pump", 5.0), ("B", "belt", 10.0))
    order = check_order(found, check_table(), "washer")
    pumps = [step for step in order.steps if step.part_name == "drain pump"]
    assert [(step.part_no, round(step.probability, 4)) for step in pumps] == [("DP-1", round(25 / 36, 4))]
