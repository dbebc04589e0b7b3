"""The three headlines: what breaks down, what comes back, how long a fix takes."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, data
from dashboards.questions import breakdowns, fixed, repeats, times

ALL_KINDS = "all kinds of machine"
KIND_KEY = "kind_of_machine"


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title("What the log says", fleet)
    if fleet is None:
        blocks.empty()
        return
    blocks.caution()
    kinds = [ALL_KINDS, *fleet.kinds()]
    chosen = st.session_state.get(KIND_KEY, ALL_KINDS)
    kind = None if chosen == ALL_KINDS or chosen not in kinds else chosen
    refused = [breakdowns.render(fleet, kind, lambda: _choose(kinds))]
    for render_next in (repeats.render, times.render):
        blocks.parting()
        refused.append(render_next(fleet, kind))
    if any(refused):
        blocks.parting()
        fixed.render(fleet, kind)


def _choose(kinds: list[str]) -> None:
    if len(kinds) > 2:
        st.selectbox("Kind of machine, for every answer on this page", kinds, key=KIND_KEY)
