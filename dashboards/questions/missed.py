"""Are faults missed? Jobs in which none was found, and how many of those machines were reported again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Are faults missed?"
DAYS = 30
SCALE = Scale("% of attended jobs in which no fault was found", ".0%", most=1)


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    total = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    if not total:
        blocks.answer(Told("No fault job here was attended."))
        choose()
        return
    told = tell(total[0])
    blocks.answer(told)
    choose()
    rows = [row for row in of_kind(_ask(fleet, kind, "symptom"), kind) if row["symptom"]]
    rows.sort(key=lambda row: (-row["low"], row["symptom"]))
    at = total[0]["value"]
    reference = (
        None
        if at is None
        else Reference(at, f"all together: {words.percent(at, words.decimals_of(total[0]))}")
    )
    seen = [row for row in rows if row["numerator"]]
    if seen:
        show_rows([Drawn(row["symptom"], _said(row), row) for row in seen], SCALE, told, reference)
    blocks.rests_on(_rests_on(total[0]))
    blocks.worked_out(_how(), *_numbers([total[0], *rows]))
    blocks.what_next(_what_next(seen))


def _ask(fleet: Fleet, kind: str | None, *by: str) -> Answer:
    return fleet.ask(
        "no-fault-found", by=by if kind is None else ("unit_type", *by), days=DAYS, most=listed.MOST
    )


def tell(row: dict[str, Any]) -> Told:
    """How often none was found, and how often the machine was reported again all the same."""
    sure = f"In {words.counts_of(row)} attended jobs no fault was found{words.share_after_counts(row)}."
    back = words.beside(row, "repeat")
    if not back["denominator"] or back["value"] is None:
        return Told(
            sure, f"How many of those machines were reported again within {DAYS} days: too few to say."
        )
    return Told(
        f"{sure} Of those machines {words.counts_of(back)} were reported again within {DAYS} days"
        f"{words.share_after_counts(back)}.",
        "Whether it was the fault that did not show itself, or a new one, the log cannot say.",
    )


def _said(row: dict[str, Any]) -> str:
    back = words.beside(row, "repeat")
    again = f" · {words.whole(back['numerator'])} reported again" if back["numerator"] else ""
    return words.share_said(row) + again


def _rests_on(row: dict[str, Any]) -> str:
    note = row["note"].partition("; ")[2]
    return (
        f"Lines: likely range (95 %), sorted by its low end. Fault jobs attended, reported {words.window(row)}; a cause "
        f"found outside the machine is a finding and not counted here.{f' {words.capital(note)}.' if note else ''}"
    )


def _how() -> list[str]:
    return [
        (
            "Jobs whose last visit ended with “no fault found”, of all fault jobs that somebody attended. Then those "
            f"machines are followed for {DAYS} days to the next fault report of any kind."
        ),
        "A fault that comes and goes is nobody's mistake; a symptom that often ends this way wants a better question on the telephone.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "symptom",
        "none found",
        "attended",
        "share",
        "likely from",
        "to",
        "reported again",
        "of those followed",
    ]
    cells = []
    for at, row in enumerate(rows):
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
        limits = [words.percent(row[name], 1) for name in ("low", "high")]
        again = [words.whole(row[name]) for name in ("numerator_repeat", "denominator_repeat")]
        cells.append([row["symptom"] if at else "all together", *counts, share, *limits, *again])
    return header, cells


def _what_next(rows: list[dict[str, Any]]) -> str:
    telling = [row for row in rows if row["value"] is not None]
    which = f" Begin with “{telling[0]['symptom']}”." if telling else ""
    return (
        f"Read the jobs that were reported again: what did the second visit find that the first did not look at?{which} "
        "Ask callers when it shows itself, and for a picture or a sound."
    )
