"""How long the part lasts, and whether machines need more as they age: what is said, chosen and left undecided."""

import pytest

from dashboards.questions import ageing, part_lives


def life(said, again, of, *, by="action"):
    half = 0.1 if of >= 20 else 0.3
    return {
        by: said,
        "part_no": "DP-1",
        "part_name": "pump",
        "value": again if of >= 10 else None,
        "low": max(again - half, 0.0),
        "high": min(again + half, 1.0),
        "denominator": of,
        "effective_n": float(of),
    }


def test_longer_life_is_said_only_where_it_can_be_told():
    rows = [life("replace", 0.2, 200), life("clean", 0.5, 150)]
    told = part_lives.tell(rows, "pump", "action")
    assert told.sure.endswith("It lasts longer after “new one fitted” than after “cleaned”.")
    near = [life("replace", 0.2, 200), life("clean", 0.25, 150)]
    assert "cannot be told" in part_lives.tell(near, "pump", "action").undecided


def test_few_of_one_kind_cannot_be_told():
    told = part_lives.tell([life("replace", 0.1, 40), life("clean", 0.9, 15)], "pump", "action")
    assert "cannot be told" in told.undecided


def test_genuine_and_pattern_parts_are_held_against_each_other():
    rows = [life("genuine", 0.1, 100, by="part_source"), life("pattern", 0.5, 60, by="part_source")]
    told = part_lives.tell(rows, "pump", "part_source")
    assert told.sure.endswith("It lasts longer as a genuine part than as a pattern part.")
    assert "ask the supplier" in part_lives._what_next(rows, "part_source")


def test_too_few_is_said():
    told = part_lives.tell([life("replace", 0.2, 5)], "pump", "action")
    assert told.sure == "Cannot tell yet how long the pump lasts."
    assert told.undecided == "Too few to say: new one fitted."


def test_first_lives_are_no_fix():
    assert part_lives._fixes([{"action": "first life", "part_no": "P", "part_name": None}]) == []


def test_trainer_chooses_a_part_and_how_to_tell_its_lives_apart(fleet, page):
    at = page("what-does-not-hold")
    box = next(box for box in at.selectbox if box.label.startswith("Part"))
    assert box.options[0] == "flow meter"
    assert any(group.label == "Told apart by" for group in at.get("button_group"))
    box.set_value("DP-1107").run()
    assert not at.exception
    assert any("Drain pump, worked on again" in body.proto.body for body in at.get("html"))


def change(kind, says, machines=100):
    return {
        "unit_type": kind,
        "change_says": says,
        "denominator": machines,
        "early_a_year": 0.4,
        "late_a_year": 0.7,
        "split_age_years": 6,
        "to_age_years": 12.4,
        "age_years": 12,
    }


@pytest.mark.parametrize(
    ("kinds", "sure", "undecided"),
    [
        (
            [change("dryer", "more"), change("washer", "cannot tell")],
            "Yes, the dryer: about 0.4 repairs a year up to 6 years of age, 0.7 from then to 12.",
            "Cannot be told for the washer.",
        ),
        (
            [change("dryer", "fewer")],
            "The dryer needs us less often: about 0.4 repairs a year up to 6 years of age, 0.7 from then to 12.",
            "",
        ),
        (
            [change("washer", "cannot tell")],
            "",
            "Cannot tell: about 0.4 repairs a year up to 6 years of age, 0.7 from then to 12, and that little difference can be chance.",
        ),
    ],
)
def test_ageing_is_said_kind_by_kind(kinds, sure, undecided):
    told = ageing.tell(kinds)
    assert (told.sure, told.undecided) == (sure, undecided)


def test_of_each_kind_the_highest_age_stands():
    rows = [{**change("a", "more"), "age_years": age} for age in (1, 3, 2)]
    rows += [change("b", "more", machines=300)]
    assert [(row["unit_type"], row["age_years"]) for row in ageing.last_rows(rows)] == [("b", 12), ("a", 3)]


def test_owner_sees_how_machines_age(fleet, page):
    at = page("what-pays")
    assert not at.exception
    assert any("Yes, the dishwasher" in body.proto.body for body in at.get("html"))
