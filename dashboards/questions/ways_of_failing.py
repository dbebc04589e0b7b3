"""Below clean or swap: how often either came back, by the way the part had failed. Freeing what is stuck cannot mend what is dead."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

SCALE = Scale("back with the same fault; square: new one fitted", ".0%", most=1)
CLEANING = ("clean", "free")
NONE_FOUND = "none found"
HOW = {NONE_FOUND: "though nothing was found wrong with it", None: "way of failing not recorded"}


def show(fleet: Fleet, kind: str | None, part: dict[str, Any], days: int) -> None:
    """Draw the part's rows where more than one way of failing is recorded."""
    rows = ways(fleet, kind, part, days)
    if len({row["mechanism"] for row in rows}) < 2:
        return
    st.subheader("By the way it had failed", anchor=False)
    said = tell(rows)
    if said:
        blocks.note_line("", said)
    drawn = [Drawn(_label(row), words.share_said(row), row, kept=row["action"] == "replace") for row in rows]
    show_rows(drawn, SCALE, Told(said))
    blocks.rests_on(
        f"Within {days} days, whoever paid; alone or with other parts, and not made alike: machines and ages may differ between rows."
    )


def ways(fleet: Fleet, kind: str | None, part: dict[str, Any], days: int) -> list[dict[str, Any]]:
    """Shares of this part by action and way of failing, cleaned before replaced, the recorded ways first."""
    by = (
        ("part_no", "action", "mechanism")
        if kind is None
        else ("unit_type", "part_no", "action", "mechanism")
    )
    found = of_kind(fleet.ask("repeat-visits", by=by, days=days, kind="same-fault"), kind)
    mine = [
        row for row in found if row["part_no"] == part["part_no"] and row["action"] in (*CLEANING, "replace")
    ]
    return sorted(
        mine,
        key=lambda row: (
            row["action"] == "replace",
            row["mechanism"] is None,
            -row["denominator"],
            row["mechanism"] or "",
        ),
    )


def tell(rows: list[dict[str, Any]]) -> str:
    """What came of cleaning a part with which nothing was found wrong, where it is surely worse than all other ways."""
    other = [row for row in rows if row["action"] in CLEANING and row["mechanism"] not in (NONE_FOUND, None)]
    for row in rows:
        idle = row["action"] in CLEANING and row["mechanism"] == NONE_FOUND and row["value"] is not None
        if idle and other and all(row["low"] > one["high"] for one in other):
            return (
                f"{words.capital(words.DONE[row['action']])} {HOW[NONE_FOUND]}, {words.counts_of(row)} came back: find it stuck "
                "or dirty before you count on that."
            )
    return ""


def _label(row: dict[str, Any]) -> str:
    how = HOW.get(row["mechanism"], row["mechanism"])
    done = words.DONE.get(row["action"], row["action"])
    return f"{done} {how}" if row["mechanism"] == NONE_FOUND else f"{done}, {how}"
