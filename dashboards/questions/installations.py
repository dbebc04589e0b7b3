"""What does a bad installation cost? How often it is found where somebody looks, and what was done before."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "What does a bad installation cost?"
SCALE = Scale("found where somebody looked", ".0%", most=1)


def refusal(fleet: Fleet, _kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet), kind)
    rows = sorted(rows, key=lambda row: (-row["low"], _label(row)))
    blocks.ask(QUESTION)
    told = tell(rows)
    blocks.answer(told)
    choose()
    if rows:
        show_rows([Drawn(_label(row), words.share_said(row), row) for row in rows], SCALE, told)
        blocks.rests_on(_rests_on(rows))
    blocks.worked_out(_how(), *_numbers(rows))
    blocks.what_next(_what_next(rows))


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("outside-causes", by=("unit_type",))


def _label(row: dict[str, Any]) -> str:
    return f"{row['unit_type'] or 'kind not recorded'}: {row['finding']}"


def tell(rows: list[dict[str, Any]]) -> Told:
    """How often the commonest one is found, and what was done before all of them."""
    if not rows:
        return Told("No fault outside the machine was found here.")
    first, jobs = rows[0], sum(row["jobs"] for row in rows)
    hours = sum(row["hours_before"] * row["jobs"] for row in rows)
    fixes = sum(row["fixes_before"] * row["jobs"] for row in rows)
    return Told(
        f"Most surely “{_label(first)}”: {words.share_told(first)} where somebody looked. Before {words.counted(jobs, 'such find', 'such finds')} "
        f"the machines had been fixed {words.counted(round(fixes), 'time', 'times')} for the same complaint, in {words.figure(hours)} hours.",
        "Whether those fixes were for nothing is not known.",
    )


def _rests_on(rows: list[dict[str, Any]]) -> str:
    first = rows[0]
    unseen = sum(row["jobs"] - row["numerator"] for row in rows)
    more = f" Found in {words.whole(unseen)} more without a note that somebody looked." if unseen else ""
    return (
        f"Lines: likely range (95 %). Attended fault jobs in which somebody looked at the installation, reported {words.window(first)}. "
        f"One goes with the other; that is not yet a cause.{more}"
    )


def _how() -> list[str]:
    return [
        "Drain run, supply, vent, level, settings: a fault outside the machine, found and put right or told to the customer.",
        "People look where they suspect something, so it is found more often than it would be by looking everywhere.",
        "Before: fixes of the same complaint on that machine, as far back as your guarantee runs.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "found",
        "where looked",
        "fixes before, each",
        "hours before",
        "of them free",
        "parts before",
        "cost of those",
    ]
    cells = []
    for row in rows:
        counts = f"{words.whole(row['numerator'])} of {words.whole(row['denominator'])}"
        before = [
            f"{row[name]:.2f}"
            for name in ("fixes_before", "hours_before", "unpaid_hours_before", "parts_before")
        ]
        cost = (
            "–"
            if row["parts_cost_before"] is None
            else f"{row['currency'] or ''} {row['parts_cost_before']:.2f}".strip()
        )
        cells.append([_label(row), counts, *before, cost])
    return header, cells


def _what_next(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return "Look at drain, supply, vent and level on every visit, and note that you looked."
    return (
        f"Look at the installation before a part is fitted, above all for “{_label(rows[0])}”, and note it when all is well too: "
        "only then can anybody say what looking saves."
    )
