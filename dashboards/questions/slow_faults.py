"""Which faults take far longer than usual? The eight-in-ten time beside the usual one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet, longer_than_all
from dashboards.questions import times
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Which faults take far longer than usual?"
CLOCK = "hands-on"
HANDFUL = 6


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    total = of_kind(_ask(fleet, kind), kind)
    rows = [row for row in of_kind(_ask(fleet, kind, "symptom"), kind) if row["symptom"]]
    blocks.ask(QUESTION)
    if not total or not rows:
        blocks.answer(Told("No fixed job here has both its minutes and a symptom."))
        choose()
        return
    telling = sorted(
        (row for row in rows if row["sample"] == "enough"), key=lambda row: (-spread(row), row["symptom"])
    )
    told = tell(telling, rows, total[0])
    blocks.answer(told)
    choose()
    at = total[0]["value"]
    reference = None if at is None else Reference(at, f"all together: {times.amount(at, CLOCK)}")
    if telling:
        drawn = [Drawn(row["symptom"], _said(row), row) for row in telling[:HANDFUL]]
        show_rows(drawn, Scale(times.TITLES[CLOCK], ".1~f"), told, reference)
    blocks.rests_on(
        f"Lines: likely range of the mean (95 %). {HANDFUL} at most, widest spread first, of those with enough behind "
        f"them. Fault jobs that ended fixed with minutes recorded, {words.window(total[0])}."
    )
    blocks.worked_out(
        _how(),
        *times.numbers(
            [total[0], *sorted(rows, key=lambda row: row["symptom"])], CLOCK, label=lambda row: row["symptom"]
        ),
    )
    blocks.what_next(_what_next(telling))


def _ask(fleet: Fleet, kind: str | None, *by: str) -> Answer:
    return fleet.ask(
        "time-to-fix", by=by if kind is None else ("unit_type", *by), clock=CLOCK, most=listed.MOST
    )


def spread(row: dict[str, Any]) -> float:
    """How many times the usual job the eight-in-ten job takes."""
    return float(row["p80"] / row["median"]) if row["median"] else 0.0


def tell(telling: list[dict[str, Any]], rows: list[dict[str, Any]], total: dict[str, Any]) -> Told:
    """The fault with the widest spread, and those that simply take long."""
    few = len(rows) - len(telling)
    silent = f"For {words.whole(few)} of {len(rows)} faults there is too little to say." if few else ""
    if not telling:
        return Told("Cannot tell yet.", silent)
    first = telling[0]
    long = [row["symptom"] for row in sorted(longer_than_all(telling, total), key=lambda row: -row["low"])]
    longer = f" Longer than the average job, surely: {words.listed(long)}." if long else ""
    return Told(
        f"Widest spread: “{first['symptom']}”. Half are done in {times.amount(first['median'], CLOCK)}, but eight in ten "
        f"take {times.amount(first['p80'], CLOCK)}, {spread(first):.1f} times as long.{longer}",
        silent,
    )


def _said(row: dict[str, Any]) -> str:
    half, most = words.figure(row["median"]), words.figure(row["p80"])
    return f"half in {half}, 8 in 10 in {most} min · {words.counted(row['denominator'], 'job', 'jobs')}"


def _how() -> list[str]:
    return [
        (
            "The usual job is the median: half take less. The eight-in-ten time over the median says how far the long ones "
            "run away; 1.5 is common, 2 and more means that some jobs go by another way than the rest."
        ),
        (
            "Longer than the average job is said of a fault only where chance is ruled out after allowing for how many "
            "were looked at (Benjamini-Hochberg: of those named, one in twenty at most by chance)."
        ),
        "Times of a fault mix easy and hard causes. Do not compare people with these figures.",
    ]


def _what_next(telling: list[dict[str, Any]]) -> str:
    if not telling:
        return "Record the minutes at the machine on each visit, not the booked slot."
    return (
        f"Sit in on two long jobs of “{telling[0]['symptom']}”: is it finding the fault, getting at the part, or a tool? "
        "A guide helps with the first, a jig with the second."
    )
