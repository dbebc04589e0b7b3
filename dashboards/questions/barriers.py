"""What stopped the rest? Reasons as a share of the jobs that were not fixed."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "What stopped the rest?"
SCALE = Scale("% of the jobs that were not fixed", ".0%", most=1)
# What the commonest reasons ask for; common practice, no source.
NEXT = {
    "part unavailable": "Look for the part under its older and newer numbers, and ask what else fits, before a machine is given up.",
    "part too expensive": "Ask for a pattern or refurbished part, and tell the price before anything is taken apart.",
    "information": "Collect wiring diagrams and ways in for the makes that come most often, and write down what was found out.",
    "no way to open": "Note how each such machine opens, once somebody has found out.",
    "tool": "Note which tool was missing; buy the one that is missed most.",
    "too worn out": "Say what age and state are worth a repair before the work begins.",
    "part not on van": "See “What to carry”: which of the missing parts belong on the van.",
    "not diagnosed": "See “At the machine” for the order of checks, and let two look at what stays unclear.",
}


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    told = tell(rows)
    blocks.answer(told)
    choose()
    named = sorted(_named(rows), key=lambda row: (-row["low"], row["second_visit_reason"]))
    if named:
        show_rows(
            [Drawn(row["second_visit_reason"], words.share_said(row), row) for row in named], SCALE, told
        )
        blocks.rests_on(
            "Lines: likely range (95 %), sorted by its low end. Fault jobs reported "
            f"{words.window(named[0])} "
            "whose outcome is known and is not “fixed”."
        )
        blocks.worked_out(_how(), *_numbers(named))
    blocks.what_next(_what_next(named))


def tell(rows: list[dict[str, Any]]) -> Told:
    """The reason that stands out most surely, and how many jobs name none."""
    silent = sum(row["numerator"] for row in rows if not row["second_visit_reason"])
    unknown = f"For {words.counted(silent, 'job', 'jobs')} no reason is recorded." if silent else ""
    telling = [row for row in _named(rows) if row["value"] is not None]
    if not telling:
        return Told("Cannot tell yet.", unknown)
    first = max(telling, key=lambda row: row["low"])
    return Told(f"Most surely “{first['second_visit_reason']}”: {words.share_told(first)}.", unknown)


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    return fleet.ask("not-fixed-reasons", by=() if kind is None else ("unit_type",))


def _named(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [row for row in rows if row["second_visit_reason"]]


def _how() -> list[str]:
    return [
        (
            "Of the fault jobs whose outcome is known and is not “fixed”, those that name this reason. Jobs without a reason "
            "count in the whole, so the shares together stay under 100 %."
        ),
        "A reason is what somebody chose or wrote; nobody checked it.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    cells = [
        [
            row["second_visit_reason"],
            words.whole(row["numerator"]),
            words.whole(row["denominator"]),
            "too few" if row["value"] is None else words.percent(row["value"], 1),
            words.percent(row["low"], 1),
            words.percent(row["high"], 1),
        ]
        for row in rows
    ]
    return ["reason", "jobs", "not fixed", "share", "likely from", "to"], cells


def _what_next(named: list[dict[str, Any]]) -> str:
    if not named:
        return "Write down with each job that is not fixed what stopped it: one reason from a short list is enough."
    first = named[0]["second_visit_reason"]
    return NEXT.get(first, f"Read the jobs that stopped at “{first}”: what would have been needed?")
