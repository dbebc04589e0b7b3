"""How many jobs end at the first visit?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "How many jobs end at the first visit?"
SCALE = Scale("% of first visits that needed a fix and ended it", ".0%", most=1)


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    total = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    if not total:
        blocks.answer(Told("No first visit here needed a fix."))
        choose()
        return
    told = tell(total[0])
    blocks.answer(told)
    choose()
    group = "unit_type" if kind is None else "symptom"
    by = ("unit_type",) if kind is None else ("unit_type", "symptom")
    rows = of_kind(fleet.ask("first-visit", by=by, most=listed.MOST), kind)
    # Sorted by the end of the range that speaks most surely of a low share.
    rows.sort(key=lambda row: (row["high"], row[group] or ""))
    at = total[0]["value"]
    reference = (
        None
        if at is None
        else Reference(at, f"all together: {words.percent(at, words.decimals_of(total[0]))}")
    )
    show_rows([Drawn(_label(row, group), words.share_said(row), row) for row in rows], SCALE, told, reference)
    blocks.rests_on(_rests_on(total[0]))
    blocks.worked_out(_how(total[0]["days"]), *_numbers([total[0], *rows], group))
    blocks.what_next("Look below at what was missing: a part that is often needed belongs on the van.")


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    return fleet.ask("first-visit", by=() if kind is None else ("unit_type",))


def tell(row: dict[str, Any]) -> Told:
    """Done at the first visit, and how many of them also held."""
    sure = f"{words.counts_of(row)} jobs that needed a fix{words.share_after_counts(row)}."
    held = words.beside(row, "strict")
    if held["value"] is None:
        return Told(sure, f"How many of them also held for {row['days']} days: too few to say.")
    decimals, range_of = words.decimals_of(held), words.likely_share(held)
    return Told(
        f"{sure} Done at the first visit and not back with the same fault within {row['days']} days: "
        f"{words.percent(held['value'], decimals)} ({range_of})."
    )


def _label(row: dict[str, Any], group: str) -> str:
    return row[group] or "not recorded"


def _rests_on(row: dict[str, Any]) -> str:
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    left_out = words.counted(row["left_out"], "first visit", "first visits")
    return (
        f"Lines: likely range (95 %), lowest first by its high end. First visits, {words.window(row)}. Left out: "
        f"{left_out} that needed no fix from us (no fault found, quote declined, beyond repair, referred) or whose "
        f"end is not recorded.{note}"
    )


def _how(days: int) -> list[str]:
    return [
        (
            "The first visit at which somebody stood before the machine must have ended the job. A job that is still "
            "open, made safe or fixed for the time being counts as not done."
        ),
        (
            f"Held: and no report of the same fault on the machine in the {days} days after; fixes of the last weeks "
            "count for as long as they were followed."
        ),
    ]


def _numbers(rows: list[dict[str, Any]], group: str) -> tuple[list[str], list[list[str]]]:
    header = ["which", "done", "of", "share", "likely from", "to", "done and held"]
    cells = []
    for at, row in enumerate(rows):
        name = _label(row, group) if at else "all together"
        shares = [
            "–" if row[c] is None else words.percent(row[c], 1)
            for c in ("value", "low", "high", "value_strict")
        ]
        cells.append([name, words.whole(row["numerator"]), words.whole(row["denominator"]), *shares])
    return header, cells
