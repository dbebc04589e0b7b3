"""The three headlines: what breaks down, what comes back, how long a fix takes."""

from __future__ import annotations

from types import ModuleType

import streamlit as st

from dashboards import blocks, data, words
from dashboards.questions import barriers, breakdowns, fixed, repeats, times
from dashboards.words import Told

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
    questions = (breakdowns, repeats, times)
    refused = {question.QUESTION: question.refusal(fleet, kind) for question in questions}
    answered = [question for question in questions if not refused[question.QUESTION]]
    if any(refused.values()):
        # What any log with outcomes can give stands in for what this one cannot.
        answered.append(fixed)
        if not barriers.refusal(fleet, kind):
            answered.append(barriers)
    _answers(answered, fleet, kind, kinds)
    _not_answered({asked: sentence for asked, sentence in refused.items() if sentence})


def _answers(questions: list[ModuleType], fleet: data.Fleet, kind: str | None, kinds: list[str]) -> None:
    for at, question in enumerate(questions):
        if at:
            blocks.parting()
        # The choice stands below the first answer, and holds for all of them.
        question.render(fleet, kind, (lambda: _choose(kinds)) if at == 0 else _nothing)


def _not_answered(refused: dict[str, str]) -> None:
    if not refused:
        return
    blocks.parting()
    blocks.ask("What can this log not say yet?")
    blocks.answer(Told("", f"The answer to {words.counted(len(refused), 'question', 'questions')}."))
    blocks.points(*refused.items())
    blocks.what_next(
        "Record what is named here from now on, if only on new jobs. The page “The log” says "
        "what each field is worth."
    )


def _choose(kinds: list[str]) -> None:
    if len(kinds) > 2:
        st.selectbox("Kind of machine, for every answer on this page", kinds, key=KIND_KEY)


def _nothing() -> None:
    return None
