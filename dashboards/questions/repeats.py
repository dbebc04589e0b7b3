"""How often are we called back?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

KINDS = {"same-fault": "the same fault", "any": "any fault"}
DAYS = (30, 90)
KIND_KEY, DAYS_KEY = "repeat_kind", "repeat_days"


QUESTION = "How often are we called back?"


def refusal(fleet: Fleet, machine_kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, machine_kind).refusal


def render(fleet: Fleet, machine_kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    kind, days = _chosen()
    total = of_kind(_ask(fleet, machine_kind), machine_kind)
    blocks.ask(QUESTION)
    if not total:
        blocks.answer(Told("No job ended fixed here, so none can have come back."))
        choose()
        return
    told = tell(total[0], kind, days)
    blocks.answer(told)
    choose()
    _choose()
    rows = of_kind(_ask(fleet, machine_kind, "part_no", "action"), machine_kind)
    rows = [row for row in rows if row.get("part_no") or row.get("part_name")]
    _show(rows, total[0], told, kind, days)
    blocks.rests_on(_rests_on(total[0], days, len(rows)))
    blocks.worked_out(_how(), *_numbers([total[0], *rows]))
    blocks.what_next(_what_next(rows))


def _chosen() -> tuple[str, int]:
    kind = st.session_state.get(KIND_KEY) or "same-fault"
    return kind, st.session_state.get(DAYS_KEY) or DAYS[0]


def _ask(fleet: Fleet, machine_kind: str | None, *fix: str) -> Answer:
    kind, days = _chosen()
    by = fix if machine_kind is None else ("unit_type", *fix)
    return fleet.ask("repeat-visits", by=by, days=days, kind=kind)


def tell(row: dict[str, Any], kind: str, days: int) -> Told:
    """Share of fixed jobs after which the machine called again, and what is not known yet."""
    back = f"{KINDS[kind]} was back within {days} days"
    sure = f"After {words.counts_of(row)} fixes {back}{words.share_after_counts(row)}."
    mature = row.get("mature_denominator")
    if not mature:
        return Told(sure, f"No fix can have been followed for {days} days yet.")
    waiting = row["denominator"] - mature
    counts = f"{words.whole(row['mature_numerator'])} of {words.whole(mature)}"
    late = f" {words.counted(waiting, 'fix is', 'fixes are')} too recent to know." if waiting > 0 else ""
    return Told(sure, f"Of the fixes followed for all {days} days, {counts}.{late}")


def _choose() -> None:
    left, right = st.columns(2)
    with left:
        st.segmented_control(
            "Back with",
            list(KINDS),
            format_func=KINDS.__getitem__,
            default="same-fault",
            required=True,
            key=KIND_KEY,
        )
    with right:
        st.segmented_control(
            "Within",
            DAYS,
            format_func=lambda days: f"{days} days",
            default=DAYS[0],
            required=True,
            key=DAYS_KEY,
        )


def _show(rows: list[dict[str, Any]], total: dict[str, Any], told: Told, kind: str, days: int) -> None:
    if not rows:
        return
    middle = total["value"]
    rows.sort(key=lambda row: (-row["low"], words.fix_label(row)))
    reference = (
        None
        if middle is None
        else Reference(middle, f"all fixes together: {words.percent(middle, words.decimals_of(total))}")
    )
    scale = Scale(f"back with {KINDS[kind]} within {days} days", ".0%", most=1)
    drawn = [
        Drawn(words.fix_label(row), words.share_said(row), row, kept=row["action"] != "replace")
        for row in rows
    ]
    show_rows(drawn, scale, told, reference)


def _rests_on(row: dict[str, Any], days: int, looked_at: int) -> str:
    note = f" {row['note'][0].upper()}{row['note'][1:]}." if row["note"] else ""
    return (
        "Lines: likely range (95 %), sorted by its low end. Round: a new part; square: the old part kept. "
        f"Jobs that ended fixed, {words.window(row)}, each followed for up to {days} days.{note} "
        f"{words.counted(looked_at, 'kind of fix', 'kinds of fix')} looked at."
    )


def _how() -> list[str]:
    return [
        (
            "Every job that ended fixed is followed to the next fault reported on the same machine. "
            "It counts for the fix that was last. "
            "The same fault: it shows the same symptom or needs the same part again, or the log says so."
        ),
        (
            "Fixes of the last weeks cannot have come back yet; each counts for as long as it was "
            "followed (Aalen-Johansen), so the share is "
            "not made smaller by them. A machine that is taken away can no longer come back."
        ),
        "It is a floor: some customers call someone else. Planned second visits are no repeats.",
        (
            "Fixes were not drawn by lot: a part that was freed may have been in a better state than "
            "one that was replaced. The rows show what "
            "happened, not what would have."
        ),
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "fix",
        "back",
        "fixes",
        "share",
        "likely from",
        "to",
        "back, followed in full",
        "followed in full",
    ]
    cells = []
    for at, row in enumerate(rows):
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        mature = [words.whole(row.get(name) or 0) for name in ("mature_numerator", "mature_denominator")]
        name = words.fix_label(row) if at else "all fixes together"
        counts = [words.whole(row["numerator"]), words.whole(row["denominator"])]
        cells.append(
            [name, *counts, share, words.percent(row["low"], 1), words.percent(row["high"], 1), *mature]
        )
    return header, cells


def _what_next(rows: list[dict[str, Any]]) -> str:
    telling = [row for row in rows if row["value"] is not None]
    if not telling:
        return (
            "Record for each job the machine, the part and what was done to it; look again when a "
            "kind of fix has been done ten times."
        )
    first = telling[0]
    return (
        f"Read the jobs that came back after “{words.fix_label(first)}” "
        f"({words.share_said(first)}): was it the part, the way it was done, "
        "or a cause outside the machine? "
        f"With {words.counted(len(rows), 'kind of fix', 'kinds of fix')} looked at, some stand "
        "high by chance: read before you change a rule."
    )
