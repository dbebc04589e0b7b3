"""What should the next one know? House notes: written on purpose, scrubbed, dated, shown at the machine once approved."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told
from pipeline.training.house_notes import MOST_CHARACTERS, HouseNote

QUESTION = "What should the next one know?"
ANY = "any symptom"


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Never refused: a note needs nothing but a kind of machine."""
    return (
        ""
        if fleet.kinds()
        else "The log has no fault job with a kind of machine, so a house note would concern none."
    )


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    notes = [note for note in fleet.trainers_book().notes() if kind is None or note.unit_type == kind]
    waiting = [note for note in notes if not note.approved_on]
    blocks.ask(QUESTION)
    blocks.answer(tell(notes, waiting))
    choose()
    for at, note in enumerate(waiting):
        blocks.note_line(concerns(note), note.text)
        yes, no = st.columns(2)
        _button(yes, "Approve", f"approve {at}", fleet.trainers_book().approve, note)
        _button(no, "Remove", f"remove {at}", fleet.trainers_book().remove, note)
    shown = [note for note in notes if note.approved_on]
    if shown:
        with st.expander(f"{words.counted(len(shown), 'note', 'notes')} shown at the machine"):
            for at, note in enumerate(shown):
                blocks.note_line(concerns(note), note.text)
                _button(st, "Take it away", f"away {at}", fleet.trainers_book().remove, note)
    _write(fleet, kind)
    blocks.rests_on(
        f"A note is at most {MOST_CHARACTERS} characters, about a kind of machine and a symptom, bears its day, and holds no name, number or way "
        "in. It is shown at the machine only once it was approved here. Notes in the log are never taken for one."
    )
    blocks.what_next(
        "One tip a note: what to look at, and how to tell. No settings under voltage, nothing on gas or sealed refrigeration."
    )


def tell(notes: list[HouseNote], waiting: list[HouseNote]) -> Told:
    """How many are shown, and how many wait."""
    if not notes:
        return Told("No house note yet.")
    shown = f"{words.counted(len(notes) - len(waiting), 'house note is', 'house notes are')} shown at the machine."
    return Told(shown, f"{words.counted(len(waiting), 'waits', 'wait')} for approval." if waiting else "")


def concerns(note: HouseNote) -> str:
    """Whom a note concerns, and its day."""
    about = [note.unit_type, note.model, note.symptom or ANY, words.day(date.fromisoformat(note.written_on))]
    return " · ".join(filter(None, about))


def _button(place: object, name: str, key: str, do: Callable[[HouseNote], str], note: HouseNote) -> None:
    if place.button(name, key=f"note {key}"):  # type: ignore[attr-defined]
        problem = do(note)
        if problem:
            st.warning(problem)
        else:
            st.rerun()


def _write(fleet: Fleet, kind: str | None) -> None:
    with st.expander("Write a note"):
        about = st.selectbox("Kind of machine", fleet.kinds(), key="note kind") if kind is None else kind
        with st.form("house_note", border=False, clear_on_submit=True):
            symptom = st.selectbox("Symptom", [ANY, *fleet.suggestions("", about)])
            text = st.text_area("The tip", max_chars=MOST_CHARACTERS, height=96)
            if st.form_submit_button("Keep it for approval"):
                problem = fleet.trainers_book().propose(text, about, "" if symptom == ANY else symptom)
                if problem:
                    st.warning(problem)
                else:
                    st.rerun()
