"""What to check first? The order with the least expected minutes; what is out, off or checked already is tapped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from pipeline.measures.check_order import Step
from pipeline.measures.check_words import EITHER, STAGES, expected_lines, step_minutes
from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER

ALREADY = ("machine already out", "panel already off", "part on the van")
LOOK = "installation"


@st.fragment
def show(fleet: Fleet, fixes: Fixes, kind: str, asked: str, on_van: Sequence[str] = ()) -> None:
    """
    The steps, each with its minutes and how often it was that; below them what changes them, and nothing else of the page.

    `on_van`: names of parts that lie on the van as the stock list says; a tap says so of every part.
    """
    # What was tapped below holds for the steps above: it is read before they are drawn.
    tapped = {name: st.session_state.get(_key(name, asked)) or [] for name in ("already", "missed")}
    order = fleet.check_order(
        fixes,
        kind,
        machine_out=ALREADY[0] in tapped["already"],
        panel_off=ALREADY[1] in tapped["already"],
        missed=tuple(tapped["missed"]),
        on_van=_names(fixes) if ALREADY[2] in tapped["already"] else tuple(on_van),
    )
    st.subheader("Check in this order", anchor=False)
    blocks.fixes([_item(step, fixes, is_first_look=not tapped["missed"]) for step in order.steps])
    blocks.rests_on(" ".join(expected_lines(order)))
    st.pills(
        "Already done",
        ALREADY,
        selection_mode="multi",
        key=_key("already", asked),
        label_visibility="collapsed",
        wrap=True,
    )
    names = [*tapped["missed"], *(_missable(step) for step in order.steps if _missable(step))]
    st.pills(
        "Checked, nothing found",
        sorted(set(names)),
        selection_mode="multi",
        key=_key("missed", asked),
        wrap=True,
    )


def _names(fixes: Fixes) -> tuple[str, ...]:
    """Names of every part that may be it."""
    return tuple({name for row in fixes.rows[:-1] for name in str(row["part_name"]).split(TOGETHER)})


def _key(name: str, asked: str) -> str:
    """Another symptom or machine is another job: its taps are its own."""
    return f"machine_{name} {asked}"


def _missable(step: Step) -> str:
    if step.stage == LOOK:
        return LOOK
    return step.part_name or ""


def _item(step: Step, fixes: Fixes, *, is_first_look: bool) -> tuple[str, str]:
    name = f"{words.capital(step.part_name)}: {step.check}" if step.part_name else step.check
    said = [step_minutes(step), _seen(step, fixes) if is_first_look else _chance(step)]
    said += [STAGES.get(step.stage, ""), EITHER if step.same_as_next else ""]
    return name, " · ".join(filter(None, said))


def _seen(step: Step, fixes: Fixes) -> str:
    """How many of the jobs it was, alone or together with others."""
    if step.stage == "isolation":
        return ""
    counts = [
        row["count"] for key, row in zip(fixes.keys, fixes.rows, strict=False) if _is_it(step, key, row)
    ]
    of = words.whole(fixes.rows[-1]["of"])
    if step.stage == LOOK:
        return f"{words.whole(sum(counts))} of {of} were outside the machine"
    return f"{words.whole(sum(counts))} of {of}"


def _is_it(step: Step, key: str, row: dict[str, Any]) -> bool:
    if step.stage == LOOK:
        return any(part.startswith(OUTSIDE) for part in key.split(TOGETHER))
    return step.part_name in str(row["part_name"]).split(TOGETHER)


def _chance(step: Step) -> str:
    """After something was checked and found good the counts no longer say it."""
    return "" if step.stage == "isolation" else f"now about {round(step.probability * 100)} in 100"
