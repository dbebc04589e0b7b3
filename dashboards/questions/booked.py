"""Which calls are booked? By time, kind, model and complaint, each with its answer in a line; no name and no address."""

from __future__ import annotations

import streamlit as st

from dashboards import blocks, words
from dashboards.data import CALLS_ANSWERED, Fleet
from dashboards.questions.what_is_wrong import take
from pipeline.measures.calls import Call

DAY = "machine_day"
DAYS_OFFERED = 5


def show(fleet: Fleet) -> None:
    """Nothing where the log books nothing ahead."""
    days = [day for day, _ in fleet.days_with_calls()][:DAYS_OFFERED]
    if not days:
        return
    chosen = st.session_state.get(DAY)
    day = chosen if chosen in days else days[0]
    some, told = fleet.calls(day)
    st.subheader(f"Calls booked for {words.day(day)}", anchor=False)
    blocks.caution()
    for call, answer in zip(some[:CALLS_ANSWERED], told, strict=False):
        st.button(
            label(call, answer),
            key=f"machine_call {call.job_no}",
            on_click=take,
            args=(call,),
            width="stretch",
        )
    if len(some) > CALLS_ANSWERED:
        blocks.rests_on(f"{words.whole(len(some) - CALLS_ANSWERED)} more: type the number of the job above.")
    if len(days) > 1:
        st.pills("Another day", days, key=DAY, format_func=words.day, persist_state="session")


def label(call: Call, answer: str) -> str:
    """`09:00 · dishwasher Q40 · smell · J26-03963` in bold, and the answer below it."""
    at = (
        call.booked_at.strftime("%H:%M")
        if call.booked_at and call.booked_at.time().isoformat() != "00:00:00"
        else ""
    )
    machine = " ".join(filter(None, [call.unit_type or "machine", call.model]))
    told = " · ".join(filter(None, [at, machine, call.symptoms or "complaint not recorded", call.job_id]))
    return f"**{_plain(told)}**  \n{_plain(words.capital(answer))}"


def _plain(text: str) -> str:
    """Words of the log are no markup."""
    return "".join(f"\\{letter}" if letter in "\\`*_{}[]()#+-.!|<>$:~" else letter for letter in text)
