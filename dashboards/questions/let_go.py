"""What may go? Pieces that the next two years will hardly want."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told

QUESTION = "What may go back or be sold?"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    del kind
    found = fleet.shelf()
    if found.refusal:
        return found.refusal
    if not found.has_stock:
        return "No stock list is loaded, so nobody can say what lies idle: mendstat load --stock FILE, with place, part_no, quantity."
    if not found.is_long_enough:
        return "The log is shorter than 24 months, too short to call a part idle."
    return ""


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    del kind, choose
    found = fleet.shelf()
    idle = sorted(
        (row for row in words.tell_parts_apart(found.rows) if row["let_go"]),
        key=lambda row: (-(row["let_go_value"] or 0), words.part_label(row)),
    )
    blocks.ask(QUESTION)
    blocks.answer(tell(idle, found.currency))
    if idle:
        st.html(blocks.table(["part", "let go", "worth", "last needed"], [_cells(row) for row in idle]))
    blocks.rests_on(
        f"Vans and stores together; what jobs of every kind needed, {words.window(found.window)}. With 95 % probability the next 24 months want no more "
        "than what stays. Old numbers of a part count as its new one."
    )
    blocks.worked_out(
        [
            (
                "How often a part is needed is itself not certain; that is counted in (a gamma for the rate, so a negative binomial for what "
                "comes). A part that no job needed for 24 months, and that the next 12 will most likely not want either, may go altogether."
            ),
            "Season and the ageing of machines are left out.",
        ]
    )
    blocks.what_next(
        "Ask the supplier whether the dearest may come back, before it goes out of the range."
        if idle
        else "Nothing for now; load the stock list again after the next stock-taking."
    )


def tell(idle: list[dict[str, Any]], currency: str) -> Told:
    """How many pieces, and their worth."""
    if not idle:
        return Told("Nothing lies there that the next two years will not want.")
    pieces = sum(row["let_go"] for row in idle)
    worth = [row["let_go_value"] for row in idle if row["let_go_value"] is not None]
    money = (
        f", worth {words.whole(sum(worth))}{f' {currency}' if currency else ''} at list price"
        if worth
        else ""
    )
    return Told(
        f"{words.counted(pieces, 'piece', 'pieces')} of {words.counted(len(idle), 'part', 'parts')}{money}: most likely nobody will "
        "need them in two years."
    )


def _cells(row: dict[str, Any]) -> list[str]:
    worth = "–" if row["let_go_value"] is None else f"{row['let_go_value']:,.2f}"
    last = words.day(row["last_needed_on"]) if row["last_needed_on"] else "never in this log"
    return [words.part_label(row), words.whole(row["let_go"]), worth, last]
