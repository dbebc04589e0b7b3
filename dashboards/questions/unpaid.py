"""How many hours does nobody pay for?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "How many hours does nobody pay for?"
SCALE = Scale("unpaid hours per 100 jobs", ".1~f")
KINDS = {
    "own_guarantee": "returns under our own guarantee",
    "uncharged_no_fault": "no fault found, nothing charged",
    "no_access": "nobody in",
    "cancelled_at_door": "cancelled at the door",
}
FEWEST = 3  # jobs behind a kind before its hours are given


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    found = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    if not found:
        blocks.answer(Told("No fault job here."))
        choose()
        return
    total = found[0]
    kinds = sorted(kinds_of(total), key=lambda row: (-row["low"], row["label"]))
    told = tell(total, kinds)
    blocks.answer(told)
    choose()
    shown = [row for row in kinds if row["jobs"]]
    show_rows(
        [Drawn("all together", _said(_whole(total)), total)]
        + [Drawn(row["label"], _said(row), row) for row in shown],
        SCALE,
        told,
    )
    note = f" {words.capital(total['note'])}." if total["note"] else ""
    blocks.rests_on(
        f"Lines: likely range (95 %). {words.counted(total['denominator'], 'fault job', 'fault jobs')} reported "
        f"{words.window(total)}; hours at the machine and on the road as recorded.{note}"
    )
    blocks.worked_out(_how(), *_numbers(total, kinds))
    blocks.what_next(_what_next(shown))


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    return fleet.ask("unpaid-hours", by=() if kind is None else ("unit_type",))


def _whole(total: dict[str, Any]) -> dict[str, Any]:
    return {**total, "jobs": total["unpaid_jobs"]}


def kinds_of(total: dict[str, Any]) -> list[dict[str, Any]]:
    """The measure's figures of each kind, as rows for the chart."""
    rows = []
    for kind, label in KINDS.items():
        jobs = total[f"jobs_{kind}"]
        few = jobs < FEWEST or total["sample"] == "too few"
        rows.append(
            {
                "label": label,
                "value": None if few else total[f"hours_{kind}"],
                "low": total[f"low_{kind}"],
                "high": total[f"high_{kind}"],
                "sample": "too few" if few else "rough" if jobs < 10 else total["sample"],
                "jobs": jobs,
            }
        )
    return rows


def tell(total: dict[str, Any], kinds: list[dict[str, Any]]) -> Told:
    """Hours per 100 jobs, and the kind that takes most of them."""
    hours = words.whole(total["numerator"])
    if total["value"] is None:
        return Told(
            "", f"Too few to say: {hours} hours in {words.counted(total['denominator'], 'job', 'jobs')}."
        )
    sure = (
        f"About {words.figure(total['value'])} hours in every 100 jobs (likely {words.figure(total['low'])} to "
        f"{words.figure(total['high'])}); {hours} hours in all."
    )
    first = next((row for row in kinds if row["value"] is not None), None)
    most = f" Most of them: {first['label']}." if first else ""
    nothing = [row["label"] for row in kinds if not row["jobs"]]
    silent = f"No hours are recorded for: {words.listed(nothing)}." if nothing else ""
    return Told(sure + most, silent)


def _said(row: dict[str, Any]) -> str:
    jobs = words.counted(row["jobs"], "job", "jobs")
    if row["value"] is None:
        return f"{jobs} · too few to say"
    rough = " · rough" if row["sample"] == "rough" else ""
    return f"{words.figure(row['value'])} hours · {jobs}{rough}"


def _how() -> list[str]:
    return [
        (
            "Hours at the machine and of travel of visits that nobody pays for: nobody in, cancelled at the door, no "
            "fault found and nothing charged, and returns under our own guarantee. A visit counts once."
        ),
        "A missed call that is charged is paid, and so is a visit that a maker or an insurer pays for.",
        "Hours that were not written down are not here, so it is a floor.",
    ]


def _numbers(total: dict[str, Any], kinds: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["kind", "hours per 100 jobs", "likely from", "to", "jobs with such hours"]
    rows = [("all together", _whole(total)), *((row["label"], row) for row in kinds)]
    cells = []
    for label, row in rows:
        numbers = ["–" if row[name] is None else words.figure(row[name]) for name in ("value", "low", "high")]
        cells.append([label, *numbers, words.whole(row["jobs"])])
    return header, cells


def _what_next(kinds: list[dict[str, Any]]) -> str:
    advice = {
        KINDS[
            "own_guarantee"
        ]: "Read which fixes came back (the page “What does not hold”): each saved return saves its hours.",
        KINDS[
            "uncharged_no_fault"
        ]: "Ask for the fault to be shown or described before setting out, and agree on what a visit costs.",
        KINDS["no_access"]: "Confirm the visit on the day, and write down the minutes of visits in vain.",
        KINDS["cancelled_at_door"]: "Agree on what a cancelled visit costs, and write its minutes down.",
    }
    return (
        advice[kinds[0]["label"]]
        if kinds
        else "Write down the minutes of visits in vain, and who pays for each visit."
    )
