"""What is in front of the technician: words, kind of machine, model and code, by typing or tapping; and how they were read."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from pipeline.measures.calls import Call
from pipeline.measures.symptom_words import Case

WORDS, KIND, MODEL, CODE, TAPPED, JOB = (
    "machine_words",
    "machine_kind",
    "machine_model",
    "machine_code",
    "machine_tapped",
    "machine_job",
)
ASK = "What does the customer see?"
MOST_LETTERS = 200
FEWEST_DIGITS = 2  # in the number of a job


def choose(fleet: Fleet) -> tuple[Case, Call | None]:
    """
    Draw the field and the kinds, and say what was typed or tapped so far, and for which call.

    The number of a job may be typed in place of words: it stands for its complaint, kind and model.

    One field and one row of kinds, so that the answer begins high on a phone. Tapping a kind and a symptom is two taps.
    """
    typed = st.text_input(
        "What the customer sees",
        key=WORDS,
        placeholder="Type what the customer sees",
        live="300ms",
        label_visibility="collapsed",
        persist_state="session",
    )
    kind = st.pills(
        "Kind of machine",
        fleet.kinds(),
        key=KIND,
        wrap=False,
        label_visibility="collapsed",
        persist_state="session",
    )
    # Their fields stand below the answer, so that it begins higher; what was put there last holds.
    model, code = (str(st.session_state.get(name) or "").strip() for name in (MODEL, CODE))
    words_typed = str(typed or "").strip()[:MOST_LETTERS]
    if sum(letter.isdigit() for letter in words_typed) >= FEWEST_DIGITS:
        call = fleet.call(words_typed)
        if call is not None:
            return call.case("", str(kind or "")), call
    call = fleet.call(str(st.session_state[JOB])) if words_typed and st.session_state.get(JOB) else None
    if call is not None and kind and kind != call.unit_type:
        call = None  # another machine by now
    return Case(words_typed, str(kind or ""), model, code), call


def take(call: Call) -> None:
    """A call that was tapped becomes the words, the kind, the model and the code."""
    case = call.case()
    for name, value in (
        (WORDS, case.words),
        (KIND, case.unit_type or None),
        (MODEL, case.model or None),
        (CODE, case.code),
        (JOB, call.job_id),
    ):
        st.session_state[name] = value


def model_and_code(fleet: Fleet, case: Case) -> None:
    """Both may be left open: the answer works without."""
    with st.expander("Model or code known?"):
        st.selectbox(
            "Model",
            fleet.models(case.unit_type),
            index=None,
            key=MODEL,
            placeholder="any model",
            accept_new_options=True,
            persist_state="session",
        )
        st.text_input("Code on the display", key=CODE, persist_state="session")


def offer(fleet: Fleet, case: Case, without: tuple[str, ...] = (), label: str = "Or did you mean") -> None:
    """Symptoms to tap: the commonest, or those nearest to what was typed."""
    near = [symptom for symptom in fleet.suggestions(case.words, case.unit_type) if symptom not in without]
    key = f"{TAPPED} {case.words} {case.unit_type}"
    if near:
        st.pills(label, near, key=key, on_change=_take, args=(key,), wrap=True)


def offer_instead(fleet: Fleet, case: Case) -> None:
    """Words that no symptom is like: the nearest, else the commonest, so that there is always something to tap."""
    if fleet.suggestions(case.words, case.unit_type):
        offer(fleet, case, label="Nearest to it")
    else:
        nothing = Case("", case.unit_type, case.model, case.code)
        offer(fleet, nothing, label="Seen most often" + (f" on a {case.unit_type}" if case.unit_type else ""))


def _take(key: str) -> None:
    """What was tapped becomes the words."""
    tapped = st.session_state.get(key)
    if tapped:
        st.session_state[WORDS] = tapped


def nothing_yet(fleet: Fleet, case: Case) -> None:
    """The empty screen: what to type or tap."""
    blocks.ask(ASK)
    offer(fleet, case, label="Seen most often" + (f" on a {case.unit_type}" if case.unit_type else ""))


def heading(case: Case, symptoms: tuple[str, ...]) -> str:
    """The customer's words where they were typed; a symptom that was tapped by its name."""
    return words.capital(case.words or words.listed(symptoms))
