"""Dangers are found in any spelling and inside longer texts; what only looks like one is none."""

import polars as pl
import pytest

from pipeline.intake.notes import NoteReader
from pipeline.vocabulary import known_terms, safety_words
from pipeline.vocabulary.dangers import dangers_of, report_words
from tests.builds import Layout, LogFile, built

NOTES = NoteReader(known_terms())

REPORTS = [
    ("electric shock", "shock"),
    ("Electric-shock", "shock"),
    ("customer got a SHOCK when touching the drum", "shock"),
    ("gives me shocks", "shock"),
    ("she was shocked by the door handle, touched it wet", "shock"),
    ("tingle from machine", "shock"),
    ("casing is live", "shock"),
    ("ＳＭＯＫＥ", "smoke"),
    ("started smoking after ten minutes", "smoke"),
    ("Smoke/flames at the back", "smoke; fire"),
    ("caught fire", "fire"),
    ("sparks seen behind the panel", "fire"),
    ("connector scorched", "fire"),
    ("smell of gas", "gas"),
    ("smells strongly of gas", "gas"),
    ("smell, of gas", "gas"),
    ("Gas smell in kitchen, stopped now", "gas"),
    ("gas leak", "gas"),
    ("flood", "flood"),
    ("Kitchen flooded!", "flood"),
    ("water came through the kitchen ceiling", "flood"),
    ("leaking into the flat below", "flood"),
    ("burning smell", "burning smell"),
    ("Burning  Smell", "burning smell"),
    ("BURNING\nSMELL", "burning smell"),
    ("smells as if something is burning", "burning smell"),
    ("burnt plastic", "burning smell"),
    ("a smell like hot rubber", "burning smell"),
    # Never negated away.
    ("no burning smell now", "burning smell"),
    ("no smoke, no smell of gas", "smoke; gas"),
    ("never any flooding", "flood"),
    # Inside longer texts, several symptoms in a cell.
    ("not heating; noisy; burning smell", "burning smell"),
    ("Will not drain, then trips the breaker and there was a bit of smoke from the back", "smoke"),
    ("shock absorber worn, kitchen flooded", "flood"),
    ("flood switch stuck; smoke", "smoke"),
    ("odeur, fumée", "smoke"),
]
NO_REPORTS = [
    "smell",
    "bad smell",
    "smells of drains",
    "trips the breaker",
    "trips supply",
    "tripping",
    "shock absorber worn",
    "Shock-absorbers replaced",
    "front shock broken",
    "new shocks fitted",
    "flood switch stuck",
    "anti-flood float jammed",
    "burner does not fire",
    "won't fire up",
    "igniter not sparking",
    "smoked glass door cracked",
    "door gasket torn",
    "gas oven smells",
    "smell from gas oven",
    "gas valve replaced",
    "burned out board",
    "bad smell. Board burnt",
    "live wire broken",
    "firelighter",
    "overheating",
    "leaks",
    "",
]


def dangers(text):
    return dangers_of(pl.Series([text], dtype=pl.String))[0]


@pytest.mark.parametrize(("text", "danger"), REPORTS)
def test_report_is_found(text, danger):
    assert dangers(text) == danger


@pytest.mark.parametrize("text", NO_REPORTS)
def test_what_only_looks_like_a_danger_is_none(text):
    assert dangers(text) is None


def test_every_phrase_of_the_file_is_found_under_its_own_danger():
    wrong = {
        phrase: (danger, dangers(phrase))
        for danger, phrases in safety_words().items()
        for phrase in phrases
        if danger not in (dangers(phrase) or "")
    }
    assert not wrong


@pytest.mark.parametrize(("text", "danger"), REPORTS)
def test_report_in_a_note_outlives_the_note(text, danger):
    note = pl.Series("note", [f"Ms Quillby rang: {text}. Key under the pot.", "all well"])
    kept = NOTES.known_words(note)
    assert dangers(kept[0]) == danger
    assert "quillby" not in kept[0].lower()
    assert "pot" not in kept[0]
    assert kept[1] is None


@pytest.mark.parametrize("text", NO_REPORTS)
def test_note_without_a_report_keeps_none(text):
    kept = NOTES.known_words(pl.Series("note", [text], dtype=pl.String))[0]
    assert kept is None or dangers(kept) is None


def test_word_that_stands_for_a_danger_reports_it_and_is_read_back():
    assert {danger: dangers(word) for danger, word in report_words().items()} == {
        danger: danger for danger in safety_words()
    }


def test_code_that_the_layout_translates_reports_its_danger():
    con = built(
        LogFile(
            "job_id | unit_type | reported_at | symptom\nJ1 | oven | 2026-01-05 | 17\nJ2 | oven | 2026-01-05 | 18"
        ),
        layouts={"plain": Layout(values={"symptom": {"17": "smell of gas", "18": "noisy"}})},
    )
    assert con.execute("select job_id, danger from facts.safety_reports").fetchall() == [("J1", "gas")]


def test_report_is_not_lost_where_the_layout_calls_it_something_else():
    con = built(
        LogFile("job_id | unit_type | reported_at | symptom\nJ1 | oven | 2026-01-05 | smoke"),
        layouts={"plain": Layout(values={"symptom": {"smoke": "other"}})},
    )
    assert con.execute("select danger from facts.safety_reports").fetchall() == [("smoke",)]
