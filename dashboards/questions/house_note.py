"""House notes under the technician's answer: only approved ones, for this kind of machine, model and symptom."""

from __future__ import annotations

from datetime import date

import streamlit as st

from dashboards import blocks
from dashboards.data import Fleet
from dashboards.words import day
from pipeline.measures.symptom_words import Understood

IN_SIGHT = 3


def show(fleet: Fleet, understood: Understood) -> None:
    """The notes, the first few in sight; nothing where there is none."""
    notes = fleet.house_notes(understood.unit_type or "", understood.model, understood.symptoms)
    if not notes:
        return
    st.subheader("From the house", anchor=False)
    for note in notes[:IN_SIGHT]:
        blocks.note_line(day(date.fromisoformat(note.written_on)), note.text)
    if len(notes) > IN_SIGHT:
        with st.expander(f"{len(notes) - IN_SIGHT} more"):
            for note in notes[IN_SIGHT:]:
                blocks.note_line(day(date.fromisoformat(note.written_on)), note.text)
