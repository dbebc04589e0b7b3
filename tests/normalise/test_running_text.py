"""Symptoms told in a sentence are its known words, without what is denied, was so once, or names a part."""

import polars as pl
import pytest

from pipeline.normalise.running_text import SymptomFinder
from pipeline.vocabulary import vocabulary
from tests.builds import normalised
from tests.table_text import assert_table

WORDS = vocabulary()
FINDER = SymptomFinder(WORDS["symptom"], WORDS["part_name"])


def told(text, finder=FINDER):
    found = finder.symptoms_of(pl.Series([text])).get_column("told").to_list()
    return found[0] if found else []


@pytest.mark.parametrize(
    ("text", "symptoms"),
    [
        ("Customer says it won't drain and trips the breaker sometimes", ["not draining", "trips supply"]),
        ("wtr in btm when she opens it, cust hears hum", ["water left in bottom", "humming"]),
        ("Machine stopt halverwege, er lekt water, pompt niet af", ["stops mid-cycle", "not draining"]),
        ("Seit gestern pumpt nicht ab und riecht", ["not draining"]),
        # One short foreign word may be English ("sent" is French for a smell).
        ("they sent me a text that it won't drain", ["not draining"]),
        ("Depuis hier ne chauffe pas du tout", ["not heating"]),
        # Denied.
        ("No leak found but very noisy on spin", ["noisy"]),
        ("It doesn't leak any more, only noisy", ["noisy"]),
        ("there was no sign of burning smell today", []),
        # So once.
        ("Leaked last year, now not draining", ["not draining"]),
        ("was not heating two years ago but now not spinning at all", ["not spinning"]),
        ("früher undicht, jetzt heizt nicht mehr richtig", ["not heating"]),
        # What began then is still so.
        ("leaking since last week on floor", ["leaks"]),
        ("not heating, started two weeks ago", ["not heating"]),
        # The name of a part is no symptom.
        ("new shock absorber fitted on the left", []),
        ("drum bangs, shock absorber broken", ["knocking"]),
        # Nothing known, or no sentence.
        ("sings a little tune at night", []),
        ("sings at night", []),
        ("noisy at night", []),
        ("", []),
    ],
)
def test_symptoms_of_a_sentence(text, symptoms):
    assert told(text) == symptoms


def test_cells_of_a_log_hold_every_symptom_that_a_sentence_tells_and_the_rest_stay_as_written():
    con = normalised(
        """
        job_id | unit_type | reported_at | symptom
        J1     | washer    | 2026-01-05  | cust says won't drain and it smells musty
        J2     | washer    | 2026-01-05  | sings a little tune at night
        J3     | washer    | 2026-01-05  | not draining
        """
    )
    assert_table(
        con,
        "(select job_id, symptom, symptoms from normalise.lines)",
        """
        job_id | symptom                      | symptoms
        J1     | not draining                 | not draining; smell of drains
        J2     | sings a little tune at night | sings a little tune at night
        J3     | not draining                 | not draining
        """,
    )
    assert_table(
        con,
        "(select phrase, meaning, rule, confidence from normalise.meanings where column_name = 'symptom')",
        """
        phrase                                    | meaning                      | rule                | confidence
        cust says won't drain and it smells musty | not draining                 | words of a sentence | 0.7
        sings a little tune at night              | sings a little tune at night | own words           | 0
        not draining                              | not draining                 | standard value      | 1
        """,
    )


def test_what_the_shop_settled_wins_over_the_words_in_it(tmp_path):
    (tmp_path / "symptom.toml").write_text(
        '[means]\n"not heating" = ["drum leaks only when cold"]\n"clanks" = ["makes a clank"]\n',
        encoding="utf-8",
    )
    words = vocabulary(tmp_path)["symptom"]
    assert words.meaning("drum leaks only when cold") == "not heating"
    finder = SymptomFinder(words, WORDS["part_name"])
    assert told("it makes a clank every time", finder) == ["clanks"]


def test_a_sentence_that_reports_a_danger_is_not_read_as_something_harmless():
    assert told("drum smells burning a bit") == []
    assert told("the burning smell is there again") == ["smell of burning"]
