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
    blocks.what_next(
        "A part that cannot be had, a price nobody pays and a worn-out machine each need something else."
    )


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
