"""A page made of questions: one after the other as soon as each is answered, and at the end what the log cannot say."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import ModuleType

import streamlit as st

from dashboards import blocks, data, words
from dashboards.words import Told

ALL_KINDS = "all kinds of machine"
KIND_KEY = "kind_of_machine"


def page_of(
    name: str,
    questions: Sequence[ModuleType],
    instead: Sequence[ModuleType] = (),
    *,
    for_trainer: bool = False,
) -> None:
    """
    Draw a page.

    Parameters
    ----------
    name : str
        Title of the page.
    questions : sequence of modules
        Each with `QUESTION`, `refusal(fleet, kind)` and `render(fleet, kind, choose)`; `ABOUT_ALL` where no kind is chosen.
    instead : sequence of modules
        Asked besides where one of the questions is refused: what any log with outcomes can give.
    for_trainer : bool
        Whether what only a trainer can act on stands before everything else too.
    """
    fleet = data.open_fleet()
    blocks.title(name, fleet, for_trainer=for_trainer)
    if fleet is None:
        blocks.empty()
        return
    blocks.caution()
    kinds = [ALL_KINDS, *fleet.kinds()]
    chosen = st.session_state.get(KIND_KEY, ALL_KINDS)
    kind = None if chosen == ALL_KINDS or chosen not in kinds else chosen
    refused = _answers(questions, fleet, kind, kinds, first=True)
    if refused:
        _answers(instead, fleet, kind, kinds, first=len(refused) == len(questions))
        _not_answered(refused)


def _answers(
    questions: Sequence[ModuleType], fleet: data.Fleet, kind: str | None, kinds: list[str], *, first: bool
) -> dict[str, str]:
    """Draw what can be answered, one after the other; what cannot, with its sentence, is handed back."""
    refused = {}
    chosen = not first
    for question in questions:
        sentence = question.refusal(fleet, kind)
        if sentence:
            refused[question.QUESTION] = sentence
            continue
        if not first:
            blocks.parting()
        # The choice stands below the first answer that it moves, and holds for all that follow.
        about_all = getattr(question, "ABOUT_ALL", False)
        with data.hearing():
            question.render(fleet, kind, _nothing if chosen or about_all else _chooser(kinds))
        first, chosen = False, chosen or not about_all
    return refused


def _not_answered(refused: dict[str, str]) -> None:
    blocks.parting()
    blocks.ask("What can this log not say yet?")
    blocks.answer(Told("", f"The answer to {words.counted(len(refused), 'question', 'questions')}."))
    blocks.points(*refused.items())
    blocks.what_next(
        "Record what is named here from now on, if only on new jobs. The page “The log” says "
        "what each field is worth."
    )


def _chooser(kinds: list[str]) -> Callable[[], None]:
    def choose() -> None:
        if len(kinds) > 2:
            st.selectbox("Kind of machine, for every answer from here on", kinds, key=KIND_KEY)

    return choose


def _nothing() -> None:
    return None
