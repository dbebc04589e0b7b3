"""Cautions: by kind of machine, by part, by what is done; and the words that stop everything, whatever is said around them."""

import polars as pl
import pytest

from pipeline.vocabulary import cautions, safety_words
from pipeline.vocabulary.cautions import for_work
from pipeline.vocabulary.dangers import dangers_of


@pytest.mark.parametrize(
    ("kind", "expected", "absent"),
    [
        ("dishwasher", "WATER CAUSTIC STORED SPRINGS TIP FOUL", "GAS SEALED MOVING MAGNETS"),
        ("washer", "WATER MOVING STORED MAGNETS LIFT TIP FOUL", "GAS SEALED DUCT"),
        ("washing machine", "WATER MOVING STORED MAGNETS LIFT TIP FOUL", "GAS SEALED DUCT"),
        ("dryer", "DUCT HEAT_PUMP MOVING STORED LIFT TIP", "WATER STEAM"),
        ("washer-dryer", "WATER DUCT HEAT_PUMP MOVING LIFT", "GAS STEAM"),
        ("gas hob", "GAS MONOXIDE INDUCTION THREE_PHASE", "WATER SEALED"),
        ("induction hob", "INDUCTION THREE_PHASE", "WATER SEALED"),
        ("range", "GAS MONOXIDE SPRINGS LIFT TIP THREE_PHASE", "SEALED WATER"),
        ("oven", "GAS MONOXIDE SPRINGS LIFT", "SEALED WATER"),
        ("fridge-freezer", "SEALED STORED LIFT TIP", "GAS WATER"),
        ("ice maker", "SEALED WATER CAUSTIC THREE_PHASE LIFT", "CHARGE GAS"),
        ("coffee machine", "STEAM THREE_PHASE WATER CAUSTIC BLADES", "GAS SEALED"),
        ("glass washer", "WATER CAUSTIC THREE_PHASE FOUL LIFT", "GAS MAGNETS MOVING"),
        ("microwave", "CHARGE MAGNETS", "WATER GAS"),
        ("vacuum", "MOVING STORED", "GAS SEALED WATER"),
        ("disposer", "BLADES WATER FOUL", "GAS"),
    ],
)
def test_cautions_fit_the_kind_of_machine(kind, expected, absent):
    found = for_work(kind)
    assert found[0] == cautions.FIRST
    assert found[-2:] == [cautions.ALONE, cautions.AFTER]
    assert {getattr(cautions, name) for name in expected.split()} <= set(found)
    assert not {getattr(cautions, name) for name in absent.split()} & set(found)
    assert len(found) == len(set(found))


@pytest.mark.parametrize("kind", ["", "kind unknown", "tanning bed"])
def test_a_kind_that_is_not_known_gets_every_caution(kind):
    assert set(cautions.EVERYTHING) <= set(for_work(kind))


@pytest.mark.parametrize(
    ("part", "expected"),
    [
        ("capacitor", "STORED"),
        ("drive motor", "STORED MAGNETS"),
        ("control board", "STORED"),
        ("gas valve", "GAS MONOXIDE"),
        ("compressor", "SEALED STORED"),
        ("boiler", "STEAM"),
        ("thermal cut-out", "BYPASS"),
        ("door lock", "BYPASS"),
        ("door hinge", "SPRINGS"),
        ("drain pump", "SHARP STORED"),
        ("magnetron", "MAGNETS"),
    ],
)
def test_a_part_brings_its_own_cautions(part, expected):
    assert {getattr(cautions, name) for name in expected.split()} <= set(for_work("tea urn", [part]))


@pytest.mark.parametrize(
    ("action", "expected"),
    [
        ("clear blockage", "SHARP FOUL"),
        ("clean", "CAUSTIC"),
        ("descale", "CAUSTIC"),
        ("correct installation", "INSTALLING"),
        ("reset", "BYPASS"),
    ],
)
def test_what_is_done_brings_its_own_cautions(action, expected):
    assert {getattr(cautions, name) for name in expected.split()} <= set(for_work("tea urn", (), [action]))


def test_after_the_work_come_leak_check_test_run_and_the_safety_test():
    said = " ".join(cautions.AFTER_WORK)
    for words in ("Leak check", "Test run", "After work on the mains side", "insulation tested"):
        assert words in said
    for words in ("leak check", "test run", "safety test"):
        assert words in cautions.AFTER


def test_every_danger_that_words_can_report_has_its_stop():
    assert set(safety_words()) == set(cautions.STOP)
    assert all("Make safe and stop" in text or "everybody out" in text for text in cautions.STOP.values())


@pytest.mark.parametrize(
    ("danger", "words"),
    [
        ("burning smell", "burning smell"),
        ("burning smell", "no burning smell now"),
        ("burning smell", "there was a burning smell, not now, not draining"),
        ("burning smell", "smels of burnin"),
        ("burning smell", "es riecht verbrannt"),
        ("burning smell", "ruikt verbrand"),
        ("burning smell", "ça sent le brûlé"),
        ("gas", "smelt of gas yesterday, not any more"),
        ("gas", "Gasgeruch, jetzt nicht mehr"),
        ("gas", "ruikt naar gas"),
        ("gas", "odeur de gaz"),
        ("shock", "got a shock last week, fine now"),
        ("shock", "the door tingles"),
        ("shock", "hat einen Stromschlag bekommen"),
        ("shock", "stroomschok"),
        ("shock", "choc électrique"),
        ("flood", "flooded on Sunday, dry now"),
        ("flood", "water through the ceiling"),
        ("flood", "Küche steht unter Wasser"),
        ("flood", "overstroming"),
        ("flood", "inondation"),
        ("smoke", "es raucht"),
        ("fire", "étincelles"),
    ],
)
def test_a_danger_is_heard_in_four_languages_and_never_talked_away(danger, words):
    assert danger in dangers_of(pl.Series([words])).item().split("; ")


@pytest.mark.parametrize(
    "words",
    [
        "bad smell",
        "trips the breaker",
        "not draining",
        "brand new, not heating",
        "wasserstand zu hoch",
        "lave mal",
        "shock absorber worn",
        "Lampe brennt nicht",
    ],
)
def test_what_is_no_danger_stops_nothing(words):
    assert dangers_of(pl.Series([words])).item() is None
