"""Why did they come back? Comebacks that await a reason, one tick each; nobody is named."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told
from pipeline.training.reasons import Comeback, reasons

QUESTION = "Which comebacks await a reason?"
AT_ONCE = 5
RECENT_DAYS = 90


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Why the log cannot answer, or nothing."""
    return fleet.ask("repeat-visits", by=(), days=30, kind="same-fault").refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    book = fleet.trainers_book()
    waiting = [one for one in book.awaiting() if kind is None or one.unit_type == kind]
    blocks.ask(QUESTION)
    blocks.answer(tell(waiting))
    choose()
    if waiting:
        _ticks(fleet, waiting[:AT_ONCE])
    kept = st.session_state.get("reasons_kept", 0)
    if kept:
        blocks.under(
            f"{words.counted(kept, 'reason', 'reasons')} kept in the store. Figures know them when the log is built again."
        )
        if st.button("Build again now"):
            with st.spinner("Building …"):
                said = book.build_again()
            if said:
                st.warning(said)
            else:
                st.session_state["reasons_kept"] = 0
                st.rerun()
    blocks.rests_on(
        f"Jobs that came back with the same fault within {RECENT_DAYS} days of a fix, are finished and say nothing of why; the newest first. A "
        "reason is kept as a correction of that job, by its number; who did it is not asked."
    )
    blocks.what_next(
        "Tick one each while people still remember. Ask what was seen, not whose it was."
        if waiting
        else "Keep the reason on every comeback: it tells the part from the diagnosis and from use."
    )


def tell(waiting: Sequence[Comeback]) -> Told:
    """How many wait."""
    if not waiting:
        return Told("None: every comeback says why.")
    shown = "" if len(waiting) <= AT_ONCE else f" The newest {AT_ONCE} are shown."
    return Told(f"{words.counted(len(waiting), 'comeback', 'comebacks')} without a reason.{shown}")


def said(one: Comeback) -> str:
    """One comeback in words."""
    first = f"reported for {one.symptom}" if one.symptom else "symptom not recorded"
    done = f"; done: {one.done}" if one.done else ""
    again = f"; then: {one.done_again}" if one.done_again else ""
    return f"{words.capital(one.unit_type)}, {first}{done}; back after {words.counted(one.days, 'day', 'days')}{again}"


def _ticks(fleet: Fleet, shown: Sequence[Comeback]) -> None:
    with st.form("reasons", border=False):
        given = {}
        for one in shown:
            st.html(
                f'<p class="next"><strong>{escape(one.job_id)}</strong> · {words.day(one.reported_on)} · {escape(said(one))}</p>'
            )
            given[one.row] = st.pills(
                f"Why {one.job_id} came back",
                reasons(),
                key=f"reason {one.row}",
                label_visibility="collapsed",
                wrap=True,
            )
        if st.form_submit_button("Keep the answers"):
            ticked = {row: reason for row, reason in given.items() if reason}
            problem = fleet.trainers_book().keep_reasons(ticked) if ticked else ""
            if problem:
                st.warning(problem)
            elif ticked:
                st.session_state["reasons_kept"] = st.session_state.get("reasons_kept", 0) + len(ticked)
                st.rerun()
