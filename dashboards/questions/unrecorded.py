"""What is not being recorded? Fields that only the visit can fill, by field and not by person."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.questions.gaps import Filled, bar_block, sums
from dashboards.words import Told
from pipeline.log_check.costs import MOSTLY

QUESTION = "What is not being recorded?"


@dataclass(frozen=True)
class Field:
    """A column of the standard log, in a user's words, and what is lost without it."""

    column: str
    words: str
    cost: str


FIELDS = (
    Field(
        "mechanism",
        "how it failed",
        "Stuck, blocked, worn, cracked, leaking, electrical: tells a part that can be freed from one that cannot.",
    ),
    Field(
        "cause",
        "why it failed",
        "Wear, installation, misuse, water: without it the next one fails the same way.",
    ),
    Field(
        "finding", "what was found", "Without it a cause outside the machine looks like a fault of a part."
    ),
    Field(
        "test_run",
        "test run made or not",
        "Without it nobody can say whether a skipped test run costs a return.",
    ),
    Field("leak_check", "leak check made or not", "As for the test run."),
    Field(
        "installation_looked_at",
        "installation looked at or not",
        "Without it faults of drain, supply, level and vent hide.",
    ),
    Field("reading", "reading of a check", "Without it no range of readings of your own."),
    Field(
        "check_min",
        "minutes of a check",
        "Only where something was checked. Without it the order of checks goes by assumed minutes.",
    ),
    Field(
        "second_visit_reason",
        "why a second visit was needed",
        "Only where there was one. Without it the van cannot be stocked from experience.",
    ),
)


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every log has rows
    """Nothing: what is missing can always be said."""
    return ""


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:  # noqa: ARG001 - rows of the log as received
    """Draw the question."""
    filled = sums(fleet.files(), "completeness")
    found = {field.column: filled.get(field.column, Filled(0, 0, "visits")) for field in FIELDS}
    blocks.ask(QUESTION)
    blocks.answer(tell(found))
    choose()
    st.html("".join(_block(field, found[field.column]) for field in FIELDS))
    blocks.rests_on(
        "All kinds of machine: how many visits or lines hold something in the column. Not every one has to. By field, not by person. The page “The log” has the fields that the figures lean on."
    )
    blocks.what_next(
        "Choose one field and print it on the job sheet as boxes to tick (mendstat job-sheet). When it is filled in nine "
        "of ten jobs, choose the next."
    )


def _block(field: Field, filled: Filled) -> str:
    return bar_block(field.words, field.column, filled, f'<p class="rests">{escape(field.cost)}</p>')


def tell(found: dict[str, Filled]) -> Told:
    """Fields that nobody fills, and fields filled here and there."""
    nothing = [field.words for field in FIELDS if not found[field.column].filled]
    some = [
        field.words for field in FIELDS if found[field.column].filled and found[field.column].share < MOSTLY
    ]
    none = (
        f"Never recorded: {words.listed(nothing, 10)}."
        if nothing
        else "Each of these fields is filled somewhere."
    )
    return Told(none, f"Filled in some rows only: {words.listed(some, 10)}." if some else "")
