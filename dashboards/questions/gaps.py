"""What is missing, and what does that cost?"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told

MOSTLY = 0.9  # a field filled in nine rows of ten does not hold anything up


@dataclass(frozen=True)
class Field:
    """A column of the standard log, in a user's words, and what is lost without it."""

    column: str
    words: str
    cost: str


FIELDS = (
    Field(
        "unit_id",
        "which machine",
        "Without it (or make and serial, or the site) no machine can be followed: no breakdowns "
        "a year, no repeat visits.",
    ),
    Field(
        "unit_type",
        "kind of machine",
        "Without it a row cannot be used, unless it says that the kind is unknown.",
    ),
    Field(
        "reported_at",
        "when it was reported",
        "Without it no days without the machine, and a repeat visit cannot be told from a planned one.",
    ),
    Field(
        "finished_at",
        "when it was finished",
        "Without it nobody can say how soon a machine came back, or how long it was down.",
    ),
    Field(
        "outcome",
        "how the visit ended",
        "Without it no job counts as fixed: no repeat visits, no time to fix, no fixed share.",
    ),
    Field(
        "hands_on_min",
        "minutes at the machine",
        "Without it no hands-on minutes; booked slots would say how the diary is cut, not how "
        "long work takes.",
    ),
    Field("symptom", "what the customer sees", "Without it the same fault is known by the part alone."),
    Field(
        "part_no",
        "which part",
        "Empty where no part was worked on. Where one was and it is not named, no breakdowns by "
        "part and no fixes to compare.",
    ),
    Field("action", "what was done", "Without it freeing a part cannot be told from fitting a new one."),
    Field(
        "installed_on",
        "when the machine was installed",
        "Without it (or a machine list) no ages, and time before the first job is not counted.",
    ),
)


def render(fleet: Fleet) -> None:
    """Draw the question."""
    found = fleet.recorded(tuple(field.column for field in FIELDS))
    blocks.ask("What is missing, and what does that cost?")
    blocks.answer(tell(found))
    for field in FIELDS:
        st.html(field_block(field, *found[field.column]))
    unknown, jobs = fleet.without_machine()
    rest = (
        f" {words.whole(unknown)} of {words.counted(jobs, 'fault job', 'fault jobs')} belong to "
        "no known machine."
        if jobs
        else ""
    )
    blocks.rests_on(
        "Rows of the log as received, and how many of them hold something in the column. Not "
        f"every row has to: a visit without a part names none.{rest}"
    )
    blocks.what_next(
        "Begin with the shortest bar that you can fill from now on; one field that is always "
        "filled says more than five that are sometimes."
    )


def tell(found: dict[str, tuple[int, int]]) -> Told:
    """Which fields no row holds, and which are filled here and there."""
    nothing = [field.words for field in FIELDS if found[field.column][0] == 0]
    some = [field.words for field in FIELDS if 0 < found[field.column][0] < MOSTLY * found[field.column][1]]
    if not nothing and not some:
        return Told("Every field that the figures lean on is filled nearly everywhere.")
    parts = [
        f"Not recorded at all: {words.listed(nothing, 10)}."
        if nothing
        else "No field that the figures lean on is missing altogether.",
        f"Filled in some rows only: {words.listed(some, 10)}." if some else "",
    ]
    return Told(*parts)


def field_block(field: Field, filled: int, rows: int) -> str:
    """A field with the share of rows that hold it, as words and as a bar."""
    share = filled / rows if rows else 0.0
    return (
        f'<div class="field"><div class="head"><span><strong>{escape(field.words)}</strong> <span '
        f'class="soft">{escape(field.column)}</span></span>'
        f'<span class="soft">{words.whole(filled)} of {words.whole(rows)}</span></div>'
        '<div class="track" aria-hidden="true"><div class="filled" '
        f'style="width:{share * 100:.1f}%"></div></div>'
        f'<p class="rests">{escape(field.cost)}</p></div>'
    )
