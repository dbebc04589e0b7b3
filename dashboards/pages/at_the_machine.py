"""For whoever stands before the machine: what helped in such jobs, how long it takes, and what to look at outside."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, data, pinned
from dashboards.questions import such_jobs
from dashboards.words import Told
from pipeline.vocabulary import cautions

TITLE = "At the machine"
KIND_KEY, SYMPTOM_KEY = "machine_kind", "machine_symptom"


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title(TITLE, fleet)
    if fleet is None:
        blocks.empty()
        return
    kinds = fleet.kinds()
    if not kinds:
        blocks.caution()
        blocks.answer(
            Told("The log has no fault job with a kind of machine, so there is nothing to choose from.")
        )
        blocks.what_next("Record the kind of machine on every job.")
        return
    kind, symptom = _choose(fleet, kinds)
    dangers = data.dangers_in(symptom or "")
    if dangers:
        blocks.ask(such_jobs.heading(symptom))
        blocks.under(kind)
        for danger in dangers:
            blocks.stop(cautions.STOP[danger])
        blocks.cautions(cautions.for_kind(kind))
        blocks.answer(Told(cautions.AFTER_STOP))
        blocks.what_next(
            "Make safe, tell the customer to leave it off, and refer it. Write it down as reported."
        )
    else:
        such_jobs.render(fleet, kind, symptom)
    if not fleet.pinned().has_notice_list:
        blocks.rests_on(pinned.NO_LIST_MACHINE)


def _choose(fleet: data.Fleet, kinds: list[str]) -> tuple[str, str | None]:
    """Kind of machine and what the customer sees, in the log's own words; the second may be left open."""
    left, right = st.columns(2)
    with left:
        kind = st.selectbox("Kind of machine", kinds, key=KIND_KEY)
    jobs = dict(fleet.symptoms(kind))
    with right:
        symptom = st.selectbox(
            "What the customer sees",
            [*jobs, None],
            format_func=lambda name: "any fault" if name is None else f"{name} ({jobs[name]:,})",
            # A new kind of machine has other symptoms: a choice of its own for each.
            key=f"{SYMPTOM_KEY} {kind}",
        )
    return kind, symptom
