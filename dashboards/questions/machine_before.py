"""Has this machine been seen before? Dangers, notices, an open guarantee and causes outside first; the timeline further down."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from pipeline.measures.calls import Call
from pipeline.measures.machine_before import Visit, count_words, guarantee_words, outside_words

IN_SIGHT = 4
UNKNOWN = "Which machine it is, the log does not know: nothing can be said of it before."


def first(fleet: Fleet, call: Call) -> None:
    """Dangers reported on it and notices: they are read before anything else."""
    found = fleet.before(call)
    pinned = [f"Danger reported on this machine before. {text}" for text in found.dangers]
    pinned += [f"Notice for this model. {text}" for text in found.notices]
    if pinned:
        blocks.cautions(pinned, "stop")


def known(fleet: Fleet, call: Call) -> None:
    """An open guarantee and a cause outside found before: below the cautions, since they say where to look."""
    found = fleet.before(call)
    for line in (guarantee_words(found), outside_words(found)):
        if line:
            blocks.note_line("Before:", line)


def show(fleet: Fleet, call: Call) -> None:
    """Every earlier job, latest first, the older ones folded."""
    found = fleet.before(call)
    st.subheader("This machine before", anchor=False)
    if not found.is_known:
        blocks.rests_on(UNKNOWN)
        return
    blocks.rests_on(f"{words.capital(count_words(found))}.")
    items = [_item(visit) for visit in found.visits]
    if items:
        blocks.fixes(items[:IN_SIGHT], "plain before")
    if len(items) > IN_SIGHT:
        with st.expander(f"{words.capital(words.spelled(len(items) - IN_SIGHT))} more"):
            blocks.fixes(items[IN_SIGHT:], "plain before")


def _item(visit: Visit) -> tuple[str, str]:
    when = words.day(visit.reported_on) if visit.reported_on else "day not known"
    said = [" and ".join(visit.done), visit.outcome or "outcome not recorded", visit.job_id or ""]
    return f"{when} · {visit.symptom or 'complaint not recorded'}", " · ".join(filter(None, said))
