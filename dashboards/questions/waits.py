"""How long are customers without their machine? The clock from the report until it works."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, listed, words
from dashboards.data import Answer, Fleet
from dashboards.questions import times
from dashboards.questions.breakdowns import of_kind
from dashboards.words import Told

QUESTION = "How long are customers without their machine?"
CLOCK = "restored"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    total = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    if not total:
        blocks.answer(Told("No fault job here has both a report and a finish."))
        choose()
        return
    told = tell(total[0])
    blocks.answer(told)
    choose()
    group = "unit_type" if kind is None else "symptom"
    by = ("unit_type",) if kind is None else ("unit_type", "symptom")
    rows = of_kind(fleet.ask("time-to-fix", by=by, clock=CLOCK, most=listed.MOST), kind)
    rows = [row for row in rows if row["low"] is not None]
    rows.sort(key=lambda row: (-row["low"], row[group] or ""))
    times.show(
        rows, total[0], told, CLOCK, label=lambda row: row[group] or "not recorded", together="all together"
    )
    blocks.rests_on(times.rests_on(total[0], CLOCK))
    blocks.worked_out(
        times.how(), *times.numbers([total[0], *rows], CLOCK, label=lambda row: row[group] or "not recorded")
    )
    blocks.what_next(
        "Look at the jobs that waited for a part (above): a part on the van saves the customer those days. "
        "Tell customers the eight-in-ten figure, not the average."
    )


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    return fleet.ask("time-to-fix", by=() if kind is None else ("unit_type",), clock=CLOCK)


def tell(row: dict[str, Any]) -> Told:
    """Half, eight in ten, and the mean with its range."""
    if row["value"] is None:
        return Told("", "Too few jobs to say.")
    half, most = (times.amount(row[name], CLOCK) for name in ("median", "p80"))
    mean = (
        f"{times.amount(row['value'], CLOCK)} on average over the first 60 days "
        f"(likely {words.figure(row['low'])} to {words.figure(row['high'])})"
    )
    within = f"Half have it back within {half}" if row["median"] is not None else "Not half have it back yet"
    eight = f", eight in ten within {most}" if row["p80"] is not None else ""
    later = "" if row["p80"] is not None else "Within how many days eight in ten have it back is not known."
    return Told(f"{within}{eight}; {mean}.", later)
