"""How long does a fix take? Three clocks, kept apart."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

CLOCKS = {"hands-on": "hands-on minutes", "restored": "days without the machine", "visits": "visits"}
UNITS = {"hands-on": ("minute", "minutes"), "restored": ("day", "days"), "visits": ("visit", "visits")}
TITLES = {
    "hands-on": "hands-on minutes a fix, mean",
    "restored": "days without the machine, mean (60 at most)",
    "visits": "visits a fix, mean",
}
CLOCK_KEY = "clock"


QUESTION = "How long does a fix take?"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why no clock can be read, or nothing: one clock is an answer."""
    refusals = [found.refusal for found in _ask(fleet, kind).values()]
    return " ".join(dict.fromkeys(refusals)) if all(refusals) else ""


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    answers = _ask(fleet, kind)
    totals = {clock: rows[0] for clock, found in answers.items() if (rows := of_kind(found, kind))}
    blocks.ask(QUESTION)
    if not totals:
        blocks.answer(Told("No job ended fixed here, so there is no time to fix."))
        choose()
        return
    told = tell(totals, answers)
    blocks.answer(told)
    choose()
    clock = _choose(list(totals))
    rows = of_kind(fleet.ask("time-to-fix", by=_by(kind), clock=clock, most=listed.MOST), kind)
    rows = [row for row in rows if row["low"] is not None]
    rows.sort(key=lambda row: (-row["low"], _label(row, kind)))
    together = "all together" if kind is None else f"all {kind} jobs"
    show(rows, totals[clock], told, clock, label=lambda row: _label(row, kind), together=together)
    blocks.rests_on(rests_on(totals[clock], clock))
    blocks.worked_out(how(), *numbers([totals[clock], *rows], clock, label=lambda row: _label(row, kind)))
    blocks.what_next(_what_next(totals))


def _ask(fleet: Fleet, kind: str | None) -> dict[str, Answer]:
    by = () if kind is None else ("unit_type",)
    return {clock: fleet.ask("time-to-fix", by=by, clock=clock) for clock in CLOCKS}


def tell(totals: dict[str, dict[str, Any]], answers: dict[str, Answer]) -> Told:
    """One clause a clock that can be read; the sentence of each clock that cannot."""
    clauses = {
        "hands-on": "{value} of work on the machine (half of the jobs take {median} or less)",
        "restored": "{value} without the machine (half have it back within {median})",
        "visits": "{value}",
    }
    said = [
        clauses[clock].format(value=amount(row["value"], clock), median=amount(row["median"], clock))
        for clock, row in totals.items()
        if row["value"] is not None
    ]
    few = [CLOCKS[clock] for clock, row in totals.items() if row["value"] is None]
    undecided = [f"Too few jobs to say: {words.listed(few)}."] if few else []
    undecided += [found.refusal for found in answers.values() if found.refusal]
    sure = f"On average {words.listed(said)}." if said else "Cannot tell yet."
    return Told(sure, " ".join(undecided))


def amount(number: float | None, clock: str) -> str:
    """A time with its unit: 52 minutes, 4.1 days, 1.3 visits."""
    if number is None:
        return "not known yet"
    text = f"{number:.2f}" if clock == "visits" else words.figure(number)
    one, many = UNITS[clock]
    return f"{text} {one if text == '1' else many}"


def _by(kind: str | None) -> tuple[str, ...]:
    return ("unit_type",) if kind is None else ("unit_type", "part_no", "action")


def _choose(clocks: list[str]) -> str:
    chosen = st.session_state.get(CLOCK_KEY)
    clock = chosen if chosen in clocks else clocks[0]
    if len(clocks) > 1:
        st.segmented_control(
            "Clock: hands-on minutes, days without the machine, or visits",
            clocks,
            format_func=lambda name: UNITS[name][1],
            default=clocks[0],
            required=True,
            key=CLOCK_KEY,
        )
    return clock


def _label(row: dict[str, Any], kind: str | None) -> str:
    return (row["unit_type"] or "kind not recorded") if kind is None else words.fix_label(row)


def _said(row: dict[str, Any], clock: str) -> str:
    jobs = words.counted(row["denominator"], "job", "jobs")
    if row["value"] is None:
        return f"{jobs} · too few to say"
    return f"{amount(row['value'], clock)} · {jobs}" + (" · rough" if row["sample"] == "rough" else "")


def show(
    rows: list[dict[str, Any]],
    total: dict[str, Any],
    told: Told,
    clock: str,
    *,
    label: Callable[[dict[str, Any]], str],
    together: str,
) -> None:
    """Chart of the rows of one clock, with the figure of all of them as the line that decides."""
    if not rows:
        return
    value = total["value"]
    reference = None if value is None else Reference(value, f"{together}: {amount(value, clock)}")
    drawn = [Drawn(label(row), _said(row, clock), row) for row in rows]
    show_rows(drawn, Scale(TITLES[clock], ".1~f"), told, reference)


def rests_on(row: dict[str, Any], clock: str) -> str:
    """Whose time it is, and until when it was counted."""
    jobs = words.counted(row["denominator"], "fault job", "fault jobs")
    who = f"{jobs} that ended fixed" + (" and have their minutes" if clock == "hands-on" else "")
    if clock == "restored":
        who = (
            f"{jobs}, from the report until the machine works, 60 days at most; "
            "those still open count for as long as they have waited"
        )
    return f"Lines: likely range of the mean (95 %), sorted by its low end. {who}. {words.window(row)}."


def how() -> list[str]:
    """What the clocks mean."""
    return [
        (
            "Three clocks that answer different questions. Hands-on minutes: time at the machine on "
            "all visits of the job, to find the fault, put "
            "it right and test; no travel, no waiting. Days without the machine: from the report "
            "until it works. Visits: journeys for one fix."
        ),
        (
            "The mean is for planning, for hours add up; the median (half take less) is for "
            "comparing; eight in ten done is for the diary."
        ),
        "A job that takes longer may be a harder job. Do not compare people with these figures.",
    ]


def numbers(
    rows: list[dict[str, Any]], clock: str, *, label: Callable[[dict[str, Any]], str]
) -> tuple[list[str], list[list[str]]]:
    """The figures of one clock as a table, all together first."""
    header = [
        "which",
        "jobs",
        f"mean {UNITS[clock][1]}",
        "likely from",
        "to",
        "half within",
        "eight in ten within",
    ]
    cells = []
    for at, row in enumerate(rows):
        name = label(row) if at else "all together"
        cells_of_row = [
            _plain(row.get(column), clock) for column in ("value", "low", "high", "median", "p80")
        ]
        cells.append([name, words.whole(row["denominator"]), *cells_of_row])
    return header, cells


def _plain(number: float | None, clock: str) -> str:
    return "–" if number is None else amount(number, clock).split()[0]


def _what_next(totals: dict[str, dict[str, Any]]) -> str:
    hands_on = totals.get("hands-on")
    if hands_on is None or hands_on.get("p80") is None:
        return (
            "Record the minutes at the machine on each visit (not the booked slot): it is what the "
            "diary and the price of a job rest on."
        )
    slot = words.figure(hands_on["p80"])
    return (
        f"Book {slot} minutes at the machine and eight in ten jobs fit, test run included. The test "
        "run is part of the job: do not save it."
    )
