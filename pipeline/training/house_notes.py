"""
House notes: short tips that somebody wrote on purpose for whoever stands before such a machine next.

A note is at most 200 characters, loses what looks like a person, a number or a way in before it is kept, bears its day, and is
shown at the machine only once it was approved on the trainer's page. Notes of the log are never taken for one.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path

from pipeline.errors import WrongUseError
from pipeline.intake.scrub import scrub
from pipeline.intake.scrub_patterns import REMOVED
from pipeline.store.folder import Store
from pipeline.training.rows_file import read_rows, write_rows

MOST_CHARACTERS = 200
FILE = "house-notes.csv"
COLUMNS = ("written_on", "unit_type", "model", "symptom", "text", "approved_on")


@dataclass(frozen=True)
class HouseNote:
    """
    One tip.

    Attributes
    ----------
    written_on : str
        ISO day.
    unit_type, model, symptom : str
        Whom it concerns; empty `model` or `symptom`: all of them.
    text : str
        At most MOST_CHARACTERS, scrubbed.
    approved_on : str
        ISO day; empty while it waits.
    """

    written_on: str
    unit_type: str
    model: str
    symptom: str
    text: str
    approved_on: str = ""


def read_notes(store: Path) -> tuple[HouseNote, ...]:
    """
    All notes of a store, oldest first.

    Raises
    ------
    UnreadableError
        If the file is damaged.
    """
    return tuple(HouseNote(**row) for row in read_rows(store / FILE, COLUMNS))


def new_note(text: str, unit_type: str, written_on: date, *, model: str = "", symptom: str = "") -> HouseNote:
    """
    A note as it would be kept, waiting for approval.

    Raises
    ------
    WrongUseError
        If it is empty, too long, concerns no kind of machine, or holds what may say who somebody is.
    """
    said = " ".join(text.split())
    if not said or not unit_type:
        raise WrongUseError("A house note needs a text and a kind of machine.")
    if len(said) > MOST_CHARACTERS:
        raise WrongUseError(
            f"A house note has at most {MOST_CHARACTERS} characters, and this one has {len(said)}: one tip a note."
        )
    clean = scrub(said)
    if REMOVED in clean and REMOVED not in said:
        raise WrongUseError(
            f"This looks like a name, a number or a way in, and no note may hold one. It would read: {clean}"
        )
    return HouseNote(written_on.isoformat(), unit_type, model, symptom, clean)


def add_note(store: Path, note: HouseNote) -> None:
    """Keep a note; the same one twice is kept once."""
    notes = read_notes(store)
    if all(_same(note, other) is False for other in notes):
        _write(store, (*notes, note))


def approve(store: Path, note: HouseNote, approved_on: date) -> None:
    """Show a note at the machine from now on."""
    _write(
        store,
        tuple(
            replace(other, approved_on=approved_on.isoformat()) if _same(note, other) else other
            for other in read_notes(store)
        ),
    )


def remove(store: Path, note: HouseNote) -> None:
    """Take a note away."""
    _write(store, tuple(other for other in read_notes(store) if not _same(note, other)))


def notes_for(
    store: Path, unit_type: str, *, model: str | None = None, symptoms: tuple[str, ...] = ()
) -> tuple[HouseNote, ...]:
    """
    Approved notes for a machine with a symptom: those for its model and symptom first, then the newest.

    Parameters
    ----------
    store : Path
    unit_type : str
    model : str or None
        None where it is not known: then only notes for all models.
    symptoms : tuple of str
        As they were read; notes for other symptoms are left out.
    """
    found = [
        note
        for note in read_notes(store)
        if note.approved_on
        and note.unit_type == unit_type
        and (not note.model or note.model == model)
        and (not note.symptom or note.symptom in symptoms)
    ]
    found.sort(key=lambda note: note.written_on, reverse=True)
    return tuple(sorted(found, key=lambda note: (not note.symptom, not note.model)))


def _same(note: HouseNote, other: HouseNote) -> bool:
    return replace(note, written_on="", approved_on="") == replace(other, written_on="", approved_on="")


def _write(store: Path, notes: tuple[HouseNote, ...]) -> None:
    write_rows(Store(store), store / FILE, COLUMNS, [asdict(note) for note in notes])
