"""What should be taught next? Returns that need not be, and the hours nobody pays for them; with a sheet to print."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.holding import label, of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.questions.teaching_sheet import sheet_of
from dashboards.words import Told

QUESTION = "What should be taught next?"
HOURS = Scale("unpaid hours a year beyond what is usual", ".0f")
RETURNS = Scale("returns a year beyond what is usual", ".0f")


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(fleet.trainers_book().to_teach(_ask(fleet).frame), kind)
    blocks.ask(QUESTION)
    blocks.answer(tell(rows, kind))
    choose()
    if rows:
        has_hours = rows[0]["hours"] is not None
        show_rows(
            [_drawn(row, kind, has_hours=has_hours) for row in rows],
            HOURS if has_hours else RETURNS,
            tell(rows, kind),
        )
        _sheets(fleet, rows, kind)
        blocks.rests_on(
            f"Lines: likely range (95 %), sorted by its low end. {words.capital(words.window(rows[0]))}. Avoidable: returns beyond those usual for "
            "the same kind of work, times the unpaid hours of one return. At best; not every one of them can be taught away."
        )
        blocks.worked_out(_how(), *_numbers(rows, kind))
    blocks.what_next(
        "Print the sheet, teach it to everybody on one day, and write that day down below: then it can be seen whether it took."
        if rows
        else "Nothing stands out that teaching could mend. Keep part, action and outcome on every job."
    )


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("procedures", by=())


def tell(rows: list[dict[str, Any]], kind: str | None) -> Told:
    """The surest saving first."""
    if not rows:
        return Told("Nothing stands out.", "What cannot be told yet is listed above.")
    first = rows[0]
    returns = (
        f"about {words.figure(first['avoidable'])} returns a year more than usual, likely {words.figure(first['avoidable_low'])} to "
        f"{words.figure(first['avoidable_high'])}"
    )
    if first["hours"] is None:
        return Told(
            f"{words.capital(label(first, kind))}: {returns}.",
            "What a return takes in hours is not recorded.",
        )
    hours = f"{words.figure(first['hours'])} hours that nobody pays for (likely {words.figure(first['hours_low'])} to {words.figure(first['hours_high'])})"
    return Told(f"{words.capital(label(first, kind))}: {returns}; that is {hours}.")


def _drawn(row: dict[str, Any], kind: str | None, *, has_hours: bool) -> Drawn:
    name = "hours" if has_hours else "avoidable"
    drawn = {
        "low": row[f"{name}_low"],
        "value": row[name],
        "high": row[f"{name}_high"],
        "sample": row["sample"],
    }
    said = f"{words.figure(row['avoidable'])} returns a year more than usual"
    if has_hours:
        said += f" · {words.figure(row['hours'])} hours"
    return Drawn(words.capital(label(row, kind)), said, drawn, kept=True)


def _sheets(fleet: Fleet, rows: list[dict[str, Any]], kind: str | None) -> None:
    named = {words.capital(label(row, kind)): row for row in rows}
    chosen = st.selectbox("Teaching sheet for", list(named), key="sheet_for")
    st.download_button(
        "One page to print",
        partial(sheet_of, fleet, named[chosen]),
        file_name="teaching-sheet.html",
        mime="text/html",
        on_click="ignore",
    )


def _how() -> list[str]:
    return [
        (
            "Avoidable: returns seen less those expected at the middle rate of the other procedures in which the same was done, a year. "
            "Hours: of the whole unpaid chain that a return started, a paid one counting nothing, meant over the returns of the procedure (of "
            "all procedures where fewer than three)."
        ),
        "Range: the count drawn anew as chance allows, the hours drawn anew from the returns, 1,000 times; what is expected stands.",
    ]


def _numbers(rows: list[dict[str, Any]], kind: str | None) -> tuple[list[str], list[list[str]]]:
    names = (
        "avoidable",
        "avoidable_low",
        "avoidable_high",
        "hours_a_return",
        "hours",
        "hours_low",
        "hours_high",
    )
    header = ["procedure", "avoidable a year", "from", "to", "hours a return", "hours a year", "from", "to"]
    return header, [
        [label(row, kind), *("–" if row[name] is None else words.figure(row[name]) for name in names)]
        for row in rows
    ]
