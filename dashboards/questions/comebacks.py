"""Are we getting more comebacks?"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

import polars as pl

from dashboards import blocks, words
from dashboards.charts.by_month import by_month
from dashboards.data import Answer, Fleet, compare
from dashboards.months import first_of, is_known
from dashboards.questions.breakdowns import of_kind
from dashboards.words import Told

QUESTION = "Are we getting more comebacks?"
DAYS = 30
RECENT, BEFORE = 6, 12  # months compared: the last ones that are known, and those before them
SHOWN = 48  # months in the chart; the table has them all
TITLE = f"back with the same fault within {DAYS} days"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind, "month").refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    months = [row for row in of_kind(_ask(fleet, kind, "month"), kind) if row["month"]]
    total = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    if not months or not total:
        blocks.answer(Told("No job ended fixed here, so none can have come back."))
        choose()
        return
    months.sort(key=lambda row: row["month"])
    told = tell(*_two_stretches(fleet, kind, months), months)
    blocks.answer(told)
    choose()
    _show(months[-SHOWN:], total[0], told)
    blocks.rests_on(_rests_on(months, total[0]))
    blocks.worked_out(_how(), *_numbers(months))
    blocks.what_next(_what_next(months))


def _ask(fleet: Fleet, kind: str | None, *by: str, **window: Any) -> Answer:
    groups = by if kind is None else ("unit_type", *by)
    return fleet.ask("repeat-visits", by=groups, days=DAYS, kind="same-fault", **window)


def _two_stretches(
    fleet: Fleet, kind: str | None, months: list[dict[str, Any]]
) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
    """Fixes since the last known months began, and those of the months before: the measure's own rows."""
    known = [row["month"] for row in months if is_known(row)]
    if len(known) < RECENT + BEFORE:
        return None, None
    turn, start = (
        datetime.combine(first_of(known[-back]), datetime.min.time()) for back in (RECENT, RECENT + BEFORE)
    )
    recent = of_kind(_ask(fleet, kind, from_at=turn), kind)
    before = of_kind(_ask(fleet, kind, from_at=start, complete_to=turn), kind)
    return (recent[0], before[0]) if recent and before else (None, None)


def tell(recent: dict[str, Any] | None, before: dict[str, Any] | None, months: list[dict[str, Any]]) -> Told:
    """The last months against the year before, and the months that stand out from all others."""
    odd = [row for row in months if row["band"] == "worse" and is_known(row)]
    names = words.listed([words.month(first_of(row["month"])) for row in odd])
    alone = f" More than in the other months: {names}." if odd else ""
    if recent is None or before is None:
        return Told(
            alone.strip(), "Cannot tell yet: that takes a year and a half of fixes that were followed."
        )
    counts = (
        f"since {words.month(recent['from'])} {words.counts_of(recent)} fixes came back, "
        f"in the {BEFORE} months before {words.counts_of(before)}"
    )
    verdict = compare(recent, before)
    if verdict == "worse":
        return Told(f"Yes: {counts}.{alone}")
    if verdict == "better":
        return Told(f"No, fewer: {counts}.{alone}")
    return Told(f"No sign of it: {counts}.{alone}", "That little difference can be chance.")


def _show(months: list[dict[str, Any]], total: dict[str, Any], told: Told) -> None:
    frame = pl.DataFrame(
        [
            {
                "month": first_of(row["month"]),
                "said": words.share_said(row),
                **{name: row[name] for name in ("low", "value", "high", "sample")},
                "is_known": is_known(row),
                "stands_out": row["band"] == "worse",
            }
            for row in months
        ],
        schema_overrides={"value": pl.Float64},
    )
    at = total["value"]
    reference = "" if at is None else f"all together: {words.percent(at, words.decimals_of(total))}"
    lines = "; ".join(
        f"{words.month(first_of(row['month']))}: {words.share_said(row) if is_known(row) else 'not yet known'}"
        for row in months
    )
    says = f"{told.sure} {told.undecided} Shown: share {TITLE}, by month of the fix. {lines}."
    blocks.chart(says, by_month, frame, TITLE, at, reference)


def _rests_on(months: list[dict[str, Any]], total: dict[str, Any]) -> str:
    known = [row["denominator"] for row in months if is_known(row)]
    sizes = (
        f"{words.whole(min(known))} to {words.counted(max(known), 'fix', 'fixes')} a month. " if known else ""
    )
    note = f" {words.capital(total['note'])}." if total["note"] else ""
    return (
        f"Upright lines: likely range (95 %) of the share {TITLE}, by the month in which the job was finished. "
        f"A square: a month that stands out. {sizes}Jobs that ended fixed, {words.window(total)}.{note}"
    )


def _how() -> list[str]:
    return [
        (
            f"Every job that ended fixed is followed for {DAYS} days to the next report of the same fault on the same "
            "machine. A month is hatched until each of its fixes could be followed that long."
        ),
        (
            "Months go up and down by chance. A month is said to stand out only where it differs from all the others "
            "together after allowing for the number of months looked at (Benjamini-Hochberg, 5 in 100 false alarms)."
        ),
        (
            "The answer compares the last known months with the twelve before them; it says yes or no only where the "
            "likely range of the difference leaves out zero and 20 or more stand on each side."
        ),
    ]


def _numbers(months: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["month of the fix", "back", "fixes", "share", "likely from", "to", "followed in full"]
    cells = []
    for row in reversed(months):
        share = words.percent(row["value"], 1) if is_known(row) and row["value"] is not None else "–"
        limits = [words.percent(row[name], 1) if is_known(row) else "–" for name in ("low", "high")]
        counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
        name = words.month(first_of(row["month"]))
        cells.append([name, *counts, share, *limits, words.whole(row["mature_denominator"])])
    return header, cells


def _what_next(months: list[dict[str, Any]]) -> str:
    if any(row["band"] == "worse" and is_known(row) for row in months):
        return "Read the comebacks of the months that stand out: a part lot, a new hand, a kind of machine?"
    return (
        "Do not chase single months. Look at which kinds of fix come back (the page “What does not hold”); "
        "look here again next month."
    )
