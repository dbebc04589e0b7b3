"""What is missing, and what does that cost?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.months import first_of
from dashboards.words import Told
from pipeline.log_check.costs import FIELDS, MOSTLY, is_missed, known_share

MONTHS_SHOWN = 36
EVENLY = 0.95  # a field filled in nearly every month needs no drawing of its months


@dataclass(frozen=True)
class Filled:
    """How many of what is counted (jobs, visits, lines) carry a field."""

    filled: int
    of: int
    counted: str

    @property
    def share(self) -> float:
        """Between 0 and 1; 0 where nothing is counted."""
        return self.filled / self.of if self.of else 0.0

    @property
    def said(self) -> str:
        """1,204 of 1,310 visits."""
        return f"{words.whole(self.filled)} of {words.whole(self.of)} {self.counted}"


def render(fleet: Fleet) -> None:
    """Draw the question."""
    files = fleet.files()
    found = totals(files)
    blocks.ask("What is missing, and what does that cost?")
    missed = [column for column in found if _is_missed(files, column, found[column])]
    blocks.answer(tell({column: found[column] for column in missed}))
    for column in sorted(found, key=lambda name: found[name].share):
        st.html(field_block(column, found[column], by_month(files, column), costs=column in missed))
    blocks.rests_on(
        "Of the rows that are used: how many jobs, visits or lines hold something in the column. The small columns are "
        "the months, the oldest on the left. A part is only missed where a line says that one was worked on."
    )
    with st.expander("All fields, and by month"):
        st.html(blocks.table(["field", "filled", "share"], _all_fields(files)))
        st.html(
            blocks.table(["month", *(FIELDS[column].words for column in found)], _months(files, list(found)))
        )
    blocks.what_next(
        "Begin with the shortest bar that you can fill from now on; one field that is always "
        "filled says more than five that are sometimes."
    )


def totals(files: Sequence[dict[str, Any]]) -> dict[str, Filled]:
    """The fields that figures lean on, all logs together, in the order of what they cost."""
    filled = sums(files, "completeness")
    return {
        column: filled.get(column, Filled(0, 0, "jobs"))
        for column in FIELDS
        # A machine list says it better.
        if not (column == "installed_on" and _has_machine_list(files))
    }


def _has_machine_list(files: Sequence[dict[str, Any]]) -> bool:
    return any(file["kind"] == "machines" for file in files)


def _is_missed(files: Sequence[dict[str, Any]], column: str, filled: Filled) -> bool:
    known = known_share([rung for file in files for rung in file.get("rungs", ())])
    # Where nothing is counted (no work on a part), nothing is missed.
    return filled.of > 0 and is_missed(
        column, filled.share, known=known, has_machine_list=_has_machine_list(files)
    )


def by_month(files: Sequence[dict[str, Any]], column: str) -> list[tuple[str, Filled]]:
    """A field month by month, all logs together, the last months only."""
    months = sorted({row["month"] for file in files for row in file.get("completeness_by_month", ())})
    found = []
    for month in months[-MONTHS_SHOWN:]:
        rows = [
            {"of": [row for row in file.get("completeness_by_month", ()) if row["month"] == month]}
            for file in files
        ]
        filled = sums(rows, "of").get(column)
        if filled is not None and filled.of:
            found.append((month, filled))
    return found


def sums(files: Sequence[dict[str, Any]], name: str) -> dict[str, Filled]:
    """Counts of all logs together by column; `name` is the list of them that log-check gives for each file."""
    total: dict[str, Filled] = {}
    for file in files:
        for row in file.get(name, ()):
            before = total.get(row["column"], Filled(0, 0, row["counted"]))
            total[row["column"]] = Filled(
                before.filled + row["filled"], before.of + row["of"], row["counted"]
            )
    return total


def tell(found: dict[str, Filled]) -> Told:
    """Of the fields that are missed: which nothing holds, and which are filled here and there."""
    nothing = [FIELDS[column].words for column, filled in found.items() if filled.filled == 0]
    some = [f"{FIELDS[column].words} ({filled.said})" for column, filled in found.items() if filled.filled]
    if not nothing and not some:
        return Told("Every field that the figures lean on is filled nearly everywhere.")
    parts = [
        f"Not recorded at all: {words.listed(nothing, 10)}."
        if nothing
        else "No field that the figures lean on is missing altogether.",
        f"Filled here and there: {words.listed(some, 10)}." if some else "",
    ]
    return Told(*parts)


def field_block(column: str, filled: Filled, months: Sequence[tuple[str, Filled]], *, costs: bool) -> str:
    """A field with the share that holds it, in words and as a bar; what it costs only where something is lost."""
    cost = FIELDS[column]
    says = ""
    if costs:
        says = f'<p class="rests">{escape(cost.says)}</p>'
    elif column == "unit_id" and filled.share < MOSTLY:
        says = '<p class="rests">Most of the others are told by make and serial number or by the address; see below.</p>'
    strip = _strip(months) if 0 < filled.share < EVENLY and len(months) > 1 else ""
    return bar_block(f"{cost.words}", column, filled, f"{strip}{says}")


def bar_block(name: str, column: str, filled: Filled, below: str = "") -> str:
    """A name with its count and a bar for its share; `below` is markup."""
    return (
        f'<div class="field"><div class="head"><span><strong>{escape(name)}</strong> <span '
        f'class="soft">{escape(column)}</span></span>'
        f'<span class="soft">{escape(filled.said)}</span></div>'
        '<div class="track" aria-hidden="true"><div class="filled" '
        f'style="width:{filled.share * 100:.1f}%"></div></div>{below}</div>'
    )


def _strip(months: Sequence[tuple[str, Filled]]) -> str:
    """A column a month, and the months that tell most in words."""
    bars = "".join(
        f'<span style="height:{max(filled.share * 100, 4):.0f}%"{"" if filled.filled else " class=none"}></span>'
        for _, filled in months
    )
    low = min(months, key=lambda each: each[1].share)
    last = months[-1]
    said = f"Least in {_named(low[0])}: {low[1].said}. Last month, {_named(last[0])}: {last[1].said}."
    return f'<div class="months" aria-hidden="true">{bars}</div><p class="rests">{escape(said)}</p>'


def _all_fields(files: Sequence[dict[str, Any]]) -> list[list[str]]:
    return [
        [column, filled.said, words.percent(filled.share) if filled.of else "–"]
        for column, filled in sums(files, "completeness").items()
    ]


def _months(files: Sequence[dict[str, Any]], columns: Sequence[str]) -> list[list[str]]:
    found = {column: dict(by_month(files, column)) for column in columns}
    months = sorted({month for column in columns for month in found[column]}, reverse=True)
    return [
        [_named(month)]
        + [
            f"{words.whole(found[column][month].filled)} of {words.whole(found[column][month].of)}"
            if month in found[column]
            else "–"
            for column in columns
        ]
        for month in months
    ]


def _named(month: str) -> str:
    """Mar 2026 for 2026-03."""
    return words.month(first_of(month))
