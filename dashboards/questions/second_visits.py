"""Why was the first visit not enough? Reasons, and the parts that were missing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "Why was the first visit not enough?"
SCALE = Scale("% of the jobs that needed a second visit", ".0%", most=1)


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet, kind), kind)
    parts = [row for row in of_kind(_ask(fleet, kind, "part_no"), kind) if row["part_no"] or row["part_name"]]
    blocks.ask(QUESTION)
    if not rows:
        blocks.answer(Told("The first visit was always enough here."))
        choose()
        return
    rows.sort(key=lambda row: (row["second_visit_reason"] is None, -row["low"], _reason(row)))
    parts.sort(key=lambda row: (-row["low"], words.part_label(row)))
    told = tell(rows, parts)
    blocks.answer(told)
    choose()
    show_rows([Drawn(_reason(row), _said(row), row) for row in rows], SCALE, told)
    if parts:
        st.subheader("Which part was missing", anchor=False)
        show_rows([Drawn(words.part_label(row), _said(row), row) for row in parts], SCALE, told)
    blocks.rests_on(
        f"Lines: likely range (95 %), sorted by its low end. Jobs that the first visit did not end, "
        f"{words.window(rows[0])}. A job that lacked two parts stands in both rows."
    )
    blocks.worked_out(_how(), *_numbers(rows, parts))
    blocks.what_next(_what_next(parts))


def _ask(fleet: Fleet, kind: str | None, split: str = "second_visit_reason") -> Answer:
    return fleet.ask("second-visits", by=(split,) if kind is None else ("unit_type", split))


def _reason(row: dict[str, Any]) -> str:
    return row["second_visit_reason"] or "no reason recorded"


def _said(row: dict[str, Any]) -> str:
    waited = row["median_wait_days"]
    wait = (
        ""
        if waited is None or row["waits"] < 5
        else f" · half done in {words.counted(waited, 'day', 'days')}"
    )
    return f"{words.share_said(row)}{wait}"


def tell(rows: list[dict[str, Any]], parts: list[dict[str, Any]]) -> Told:
    """The reason that stands out most surely, and the parts most often missing."""
    named = [row for row in rows if row["second_visit_reason"] and row["value"] is not None]
    silent = sum(row["numerator"] for row in rows if not row["second_visit_reason"])
    unknown = f"For {words.counted(silent, 'job', 'jobs')} no reason is recorded." if silent else ""
    if not named:
        return Told("Cannot tell yet.", unknown)
    first = named[0]
    missing = words.listed([f"the {words.part_label(row)}" for row in parts[:3]])
    most = f" Most surely missing: {missing}." if missing else ""
    return Told(f"“{_reason(first)}”: {words.share_told(first)}.{most}", unknown)


def _how() -> list[str]:
    return [
        (
            "Jobs that needed a fix and were not ended by the first visit at which somebody stood before the machine, "
            "by the reason that visit gives. A part was missing where that visit's lines say needed, ordered or faulty new."
        ),
        "Half done: of those finished later, half were finished within so many days of the first visit.",
        "What was missing depends on what the van carried then.",
    ]


def _numbers(rows: list[dict[str, Any]], parts: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["reason or part", "jobs", "of", "share", "likely from", "to", "half done in days"]
    cells = []
    for label, row in [
        *((_reason(row), row) for row in rows),
        *((words.part_label(row), row) for row in parts),
    ]:
        shares = ["–" if row[c] is None else words.percent(row[c], 1) for c in ("value", "low", "high")]
        wait = "–" if row["median_wait_days"] is None else words.whole(row["median_wait_days"])
        cells.append([label, words.whole(row["numerator"]), words.whole(row["denominator"]), *shares, wait])
    return header, cells


def _what_next(parts: list[dict[str, Any]]) -> str:
    if not parts:
        return "Record on the first visit which part was needed and not there: it decides what the van should carry."
    first = parts[0]
    return (
        f"Ask whether the {words.part_label(first)} belongs on the van: it was missing on "
        f"{words.counted(first['numerator'], 'first visit', 'first visits')}. Its price and room decide."
    )
