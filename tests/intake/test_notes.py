"""Of a note only the words of the trade are left, in order."""

import polars as pl
import pytest

from pipeline.intake.notes import NoteReader
from pipeline.vocabulary import known_terms

READER = NoteReader(["drain pump", "pump", "d/pump", "leak", "door won't close", "e12", "düse"])


def words(note, reader=READER):
    return reader.known_words(pl.Series("note", [note], dtype=pl.String))[0]


@pytest.mark.parametrize(
    ("note", "left"),
    [
        ("Drain Pump stuck", "drain pump"),
        ("pump, drain pump; PUMP", "pump; drain pump; pump"),
        ("d/pump and motor/pump", "d/pump; pump"),
        ("no leak", "no leak"),
        ("there was no sign of leak.", "no sign of leak"),
        ("not a drain pump", "not a drain pump"),
        ("door won't close (E12)", "door won't close; e12"),
        ("pump\npump\tpump", "pump; pump; pump"),
        ("DÜSE", "düse"),
        ("pumped leaky e123 drains", None),
        ("Jane Roe, 12 Row, key under pot", None),
        ("", None),
        (None, None),
    ],
)
def test_known_words_of_a_note_in_order_of_appearance(note, left):
    assert words(note) == left


def test_every_known_term_is_found_alone_and_nothing_beside_it():
    terms = known_terms()
    alone = NoteReader(terms).known_words(pl.Series("note", terms))
    between = NoteReader(terms).known_words(pl.Series("note", [f"Quillby {term}, Zwirn" for term in terms]))
    assert alone.to_list() == between.to_list() == [term.lower() for term in terms]


def test_reader_without_words_leaves_nothing():
    assert words("pump", NoteReader([])) is None
