"""Did the teaching take? Before and after, against what was not taught, with a warning; and where the day is written down."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.questions.holding import label, of_kind, worse_of
from dashboards.words import Told
from pipeline.measures.did_it_take import HOLDS, NOT_YET, WORSE, DidItTake
from pipeline.training.taught import Taught

QUESTION = "Did the teaching take?"
BY_ITSELF = (
    "Whatever was worst is partly there by bad luck, and gets better untouched. So the jobs since are held against what would "
    "have come of it anyway, and against the procedures that were not taught."
)


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Why the log cannot answer, or nothing."""
    return fleet.ask("procedures", by=()).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    book = fleet.trainers_book()
    taught = [one for one in book.taught() if kind is None or one.unit_type == kind]
    blocks.ask(QUESTION)
    if not taught:
        blocks.answer(Told("", "Nothing is written down as taught yet, so nothing can be judged."))
    choose()
    for one in taught:
        found = book.took(one)
        blocks.answer(tell(one, found))
        blocks.rests_on(_rests_on(found))
    _write_down(fleet, kind)
    blocks.rests_on(BY_ITSELF)
    blocks.what_next(
        "Keep teaching what holds better. Where nothing changed, look at the bench again before the next lesson: it may be the part."
        if taught
        else "Write down the day on which everybody was shown the better way; only jobs from then on count as taught."
    )


def tell(one: Taught, found: DidItTake) -> Told:
    """The verdict on one procedure, or the day from which there will be one."""
    name = words.capital(label({**one.key}))
    before = f"{found.before.observed} of {words.whole(found.before.jobs)} came back before"
    after = f"{found.after.observed} of {words.whole(found.after.jobs)} since {words.day(one.day)}"
    likely = f"likely {words.figure(found.low)} to {words.figure(found.high)} times as many as before"
    if found.verdict == NOT_YET:
        return Told(f"{name}: {before}, {after}.", f"Not yet known until {words.day(found.known_from)}.")
    if found.verdict == HOLDS:
        return Told(f"{name} holds better: {before}, {after} ({likely}).")
    if found.verdict == WORSE:
        return Told(f"{name} comes back more than before: {before}, {after} ({likely}).")
    return Told(f"{name}: {before}, {after}.", f"Whether it took cannot be told ({likely}).")


def _rests_on(found: DidItTake) -> str:
    others = (
        f"Not taught, same kind of work: {found.others_before.observed} of {words.whole(found.others_before.jobs)} before, "
        f"{found.others_after.observed} of {words.whole(found.others_after.jobs)} since."
    )
    return f"{others} Untouched, about {words.figure(found.untouched)} returns would have been seen since."


def _write_down(fleet: Fleet, kind: str | None) -> None:
    rows = worse_of(of_kind(fleet.ask("procedures", by=()).rows, kind))
    window = fleet.window()
    if not rows or window is None:
        return
    named = {words.capital(label(row, kind)): row for row in rows}
    with st.expander("Write down what was taught"), st.form("taught", border=False):
        chosen = st.selectbox("Procedure", list(named))
        day = st.date_input(
            "Day on which everybody was shown", value=window.last_report_on, min_value=window.first_on
        )
        if st.form_submit_button("Write it down"):
            said = fleet.trainers_book().write_taught(named[chosen], day)
            if said:
                st.warning(said)
            else:
                st.rerun()
