"""Does it hold? Works done on such machines with such a symptom, and how often the same fault was back."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

DAYS = 90
FOLD = "Does it hold?"
NO_PART = "None of these jobs says what was done on a machine that is known, so nobody can tell."
HOLDS = "machine_holds"  # what the open fold is known by, with kind and symptom
SCALE = Scale(f"back with the same fault within {DAYS} days", ".0%", most=1)
SHOWN = Told("Round: a new part; square: the old part kept.")


@st.fragment
def render(fleet: Fleet, kind: str, symptom: str) -> None:
    """
    Folded: how often each kind of work came back; or the sentence that says why it cannot be told.

    Asked and drawn when somebody opens it, and nothing else is drawn again: over a big log it took most of the wait for the
    answer.
    """
    fold = st.expander(FOLD, key=f"{HOLDS} {kind} {symptom}", on_change="rerun")
    with fold:
        if fold.open:
            _show(_asked(fleet, kind, symptom))


def _show(found: Answer) -> None:
    rows = words.tell_parts_apart([row for row in found.rows if row["part_no"] or row["part_name"]])
    rows.sort(key=lambda row: (-row["denominator"], words.fix_label(row)))
    if rows:
        _draw(rows)
    else:
        st.html(f'<p class="next">{found.refusal or NO_PART}</p>')


def _draw(rows: list[dict[str, Any]]) -> None:
    st.html(f'<p class="rests">{SHOWN.sure} Freed parts may have looked better than replaced ones.</p>')
    drawn = [Drawn(words.fix_label(row), _said(row), row, kept=row["action"] != "replace") for row in rows]
    show_rows(drawn, SCALE, SHOWN)


def of_part(fleet: Fleet, kind: str, symptoms: tuple[str, ...], part: dict[str, Any]) -> list[dict[str, Any]]:
    """Returns of such jobs that worked on a part, by symptom and action; none where the log cannot follow machines."""
    name = "part_no" if part["part_no"] else "part_name"
    return [row for symptom in symptoms for row in _asked(fleet, kind, symptom, ((name, part[name]),)).rows]


def _asked(fleet: Fleet, kind: str, symptom: str, part: tuple[tuple[str, str], ...] = ()) -> Answer:
    # Of all symptoms a big log gives millions of rows: every text that nothing settles is one.
    return fleet.ask(
        "repeat-visits",
        by=("unit_type", "symptom", "part_no", "part_name", "action"),
        days=DAYS,
        kind="same-fault",
        only=(("unit_type", kind), ("symptom", symptom), *part),
    )


def _said(row: dict[str, Any]) -> str:
    counts = f"{words.whole(row['numerator'])} of {words.whole(row['denominator'])} back"
    if row["value"] is None:
        return f"{counts} · too few to say"
    return counts + (" · rough" if row["sample"] == "rough" else "")
