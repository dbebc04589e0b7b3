"""Which faults of this product are fixed, and what stops the rest? What a log of texts and outcomes can still say."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "Which faults are fixed, and what stops the rest?"
FIXED = Scale("% of jobs with a known outcome that ended fixed", ".0%", most=1)
STOPPED = Scale("% of the jobs that were not fixed", ".0%", most=1)
IN_SIGHT = 10
FEWEST = 10  # known outcomes; below that only the range could be said


def show(fleet: Fleet, kind: str, symptoms: tuple[str, ...] = ()) -> None:
    """Faults of a kind of machine, the ones asked about first; then the reasons of those, or of all of them."""
    found = fleet.ask("fixed-share", by=("unit_type", "symptom"), most=listed.MOST)
    rows = [row for row in found.rows if row["unit_type"] == kind and row["symptom"]]
    rows.sort(key=lambda row: (row["symptom"] not in symptoms, -row["denominator"], row["symptom"]))
    shown = [row for row in rows if row["denominator"] >= FEWEST or row["symptom"] in symptoms][:IN_SIGHT]
    st.subheader(QUESTION, anchor=False)
    if not shown:
        blocks.rests_on(found.refusal or f"Of no fault of a {kind} are {FEWEST} outcomes known.")
        return
    asked = [row for row in shown if row["symptom"] in symptoms]
    told = tell(asked or shown, kind)
    blocks.answer(told)
    show_rows(
        [Drawn(words.capital(row["symptom"]), words.share_said(row), row) for row in shown], FIXED, told
    )
    left = len(rows) - len(shown)
    more = (
        f" {words.counted(left, 'fault', 'faults')} more, most with fewer than {FEWEST} known outcomes."
        if left
        else ""
    )
    blocks.rests_on(
        f"Lines: likely range (95 %). {words.capital(kind)}, jobs reported {words.window(shown[0])}; what the customer said is read "
        f"from the text, and a job with two faults counts for both.{more} No parts are recorded, so nothing can be said of what to fit."
    )
    _stopped(fleet, kind, [row["symptom"] for row in asked])


def tell(rows: list[dict[str, Any]], kind: str) -> Told:
    """The fault asked about; else those fixed most and least surely."""
    known = [row for row in rows if row["value"] is not None]
    if not known:
        return Told("", "Too few to say.")
    if len(known) == 1:
        return Told(f"{words.capital(known[0]['symptom'])}: fixed in {words.share_told(known[0])}.")
    best = max(known, key=lambda row: row["low"])
    worst = min(known, key=lambda row: row["high"])
    if best["low"] <= worst["high"]:
        return Told("", f"No fault of a {kind} is surely fixed more often than another.")
    return Told(
        f"Fixed most surely: {best['symptom']}, {words.share_told(best)}; least: {worst['symptom']}, {words.share_told(worst)}."
    )


def _stopped(fleet: Fleet, kind: str, symptoms: list[str]) -> None:
    by = ("unit_type", "symptom") if symptoms else ("unit_type",)
    found = fleet.ask("not-fixed-reasons", by=by)
    rows = [
        row
        for row in found.rows
        if row["unit_type"] == kind and (not symptoms or row["symptom"] == symptoms[0])
    ]
    named = [row for row in rows if row["second_visit_reason"]]
    whose = f"{kind}, {symptoms[0]}" if symptoms else kind
    blocks.note_line("What stopped the rest.", _reasons_told(rows, named, found.refusal, whose))
    if named:
        named.sort(key=lambda row: (-row["low"], row["second_visit_reason"]))
        drawn = [
            Drawn(words.capital(row["second_visit_reason"]), words.share_said(row), row) for row in named
        ]
        show_rows(drawn, STOPPED, Told(f"What stopped the rest ({whose})."))


def _reasons_told(rows: list[dict[str, Any]], named: list[dict[str, Any]], refusal: str, whose: str) -> str:
    if not named:
        return refusal or f"No reason is recorded ({whose})."
    silent = sum(row["numerator"] for row in rows if not row["second_visit_reason"])
    unknown = f"; {words.whole(silent)} name no reason" if silent else ""
    return f"{words.counted(named[0]['denominator'], 'job', 'jobs')} not fixed ({whose}){unknown}."
