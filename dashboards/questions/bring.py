"""What to bring, and how long to book? Pieces for the best chance of finishing first time, from the van's stock where it is known."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from pipeline.measures.symptom_words import Understood
from pipeline.stock.bring import Bring
from pipeline.stock.bring_words import booking_text, finish_words, piece_words, van_words, where_words

VAN = "machine_van"
NO_PART = "No part has been needed for this often enough to take one along."
NO_STOCK = "No stock list is loaded, so nobody can say what the van carries: mendstat load --stock FILE"


def chosen(fleet: Fleet, understood: Understood) -> Bring | None:
    """The list for the van that was tapped last; for none in particular where none was."""
    van = st.session_state.get(VAN)
    return fleet.bring(understood, str(van) if van else None)


def on_van(brought: Bring | None) -> tuple[str, ...]:
    """Names of the parts that lie on the van."""
    return tuple(piece.part_name for piece in brought.pieces if piece.on_van) if brought else ()


def show(fleet: Fleet, understood: Understood, brought: Bring | None) -> None:
    """The pieces, each with what it adds; the van; the minutes."""
    st.subheader("Bring, and book", anchor=False)
    if brought is not None:
        _pieces(brought)
    booked = fleet.booking(understood)
    blocks.note_line("Time.", booking_text(booked.booking) if booked.booking else booked.refusal)


def _pieces(brought: Bring) -> None:
    if brought.pieces:
        items = [
            (
                words.capital(piece_words(piece)),
                " · ".join(
                    filter(
                        None,
                        [f"then enough for {finish_words(piece.finish, brought.jobs)}", where_words(piece)],
                    )
                ),
            )
            for piece in brought.pieces
        ]
        blocks.fixes(items, "plain bring")
    else:
        blocks.rests_on(NO_PART)
    blocks.rests_on(
        f"No part at all is enough for {finish_words(brought.without, brought.jobs)}. From "
        f"{words.counted(brought.jobs, 'fix', 'fixes')} that held ({brought.level})."
    )
    if not brought.vans:
        blocks.rests_on(NO_STOCK)
        return
    # Which van it is holds for the whole day, whatever machine comes next.
    st.pills("Your van", brought.vans, key=VAN, persist_state="session", wrap=False)
    if van_words(brought):
        blocks.rests_on(van_words(brought))
