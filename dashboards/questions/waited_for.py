"""Which parts did machines wait for, and how many belong on the shelf?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told

QUESTION = "What did machines wait for?"
SHOWN = 12


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    del kind
    found = fleet.shelf()
    if found.refusal:
        return found.refusal
    if not any(row["times_missing"] for row in found.rows):
        return "No job says that a part was missing (part_status: needed not on van, ordered), so no wait can be counted."
    return ""


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    del kind, choose
    found = fleet.shelf()
    missing = [row for row in words.tell_parts_apart(found.rows) if row["times_missing"]]
    missing.sort(key=lambda row: (-(row["days_waited"] or 0), -row["times_missing"], words.part_label(row)))
    blocks.ask(QUESTION)
    blocks.answer(tell(missing))
    header = [
        "part",
        "missing",
        "days waited",
        "half within",
        "keep in stores",
        *(["there now"] if found.has_stock else []),
    ]
    st.html(blocks.table(header, [_cells(row, has_stock=found.has_stock) for row in missing[:SHOWN]]))
    blocks.rests_on(
        f"Jobs of every kind, {words.window(found.window)}. Days from the visit that found the part missing until it was fitted, all machines together; "
        f"the {words.whole(min(SHOWN, len(missing)))} parts with most of them, of {words.whole(len(missing))}."
    )
    blocks.worked_out(
        [
            (
                "Keep in stores: pieces on the shelf and on order together, so that in 95 of 100 cases one is there when the next is needed, "
                "while an order is on its way (lead days of the parts list, else the usual wait). Order one as soon as one goes."
            ),
            "A part needed by fewer than three jobs is too rare to say and is ordered when it is needed.",
            "All parts, with ready rate, fill and reorder point: mendstat stores.",
        ]
    )
    blocks.what_next(_what_next(missing[:SHOWN], has_stock=found.has_stock))


def tell(missing: list[dict[str, Any]]) -> Told:
    """The parts with most days of waiting."""
    first = words.listed(
        [f"the {words.part_label(row)} ({words.whole(row['days_waited'] or 0)} days)" for row in missing[:3]]
    )
    times, days = (sum(row[name] or 0 for row in missing) for name in ("times_missing", "days_waited"))
    return Told(
        f"{words.counted(times, 'time', 'times')} a part was missing, and machines stood still for {words.counted(days, 'day', 'days')} "
        f"in all. Most for {first}."
    )


def _cells(row: dict[str, Any], *, has_stock: bool) -> list[str]:
    half = (
        "–"
        if row["days_waited_median"] is None
        else words.counted(round(row["days_waited_median"]), "day", "days")
    )
    return [
        words.part_label(row),
        words.whole(row["times_missing"]),
        words.whole(row["days_waited"] or 0),
        half,
        words.whole(row["base_stock"]),
        *([words.whole(row["in_stores"])] if has_stock else []),
    ]


def _what_next(missing: list[dict[str, Any]], *, has_stock: bool) -> str:
    """The part with most waiting of which too few lie in the stores; where none does, whether the first belongs on the van."""
    wanted = [row for row in missing if not has_stock or (row["in_stores"] or 0) < max(1, row["base_stock"])]
    if not wanted:
        return (
            f"The stores hold enough of each by now. Ask whether the {words.part_label(missing[0])} belongs on the van: its machines "
            "waited longest."
        )
    first = wanted[0]
    now = f", where {words.whole(first['in_stores'] or 0)} lie now" if has_stock else ""
    pieces = words.counted(max(1, first["base_stock"]), "piece", "pieces")
    return f"See that {pieces} of the {words.part_label(first)} lie in the stores{now}, and ask whether it belongs on the van."
