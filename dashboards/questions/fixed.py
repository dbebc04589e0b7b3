"""How many jobs end fixed? The figure that a log without machines, times or parts can still give."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

SCALE = Scale("% of jobs with a known outcome that ended fixed", ".0%", most=1)


QUESTION = "How many jobs end fixed?"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return fleet.ask("fixed-share", by=() if kind is None else ("unit_type",)).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    by = () if kind is None else ("unit_type",)
    found = fleet.ask("fixed-share", by=by)
    total = of_kind(found, kind)
    blocks.ask(QUESTION)
    if not total:
        blocks.answer(Told(found.refusal or "No job with a known outcome here."))
        choose()
        return
    told = tell(total[0])
    blocks.answer(told)
    choose()
    group = "unit_type" if kind is None else "make"
    rows = of_kind(
        fleet.ask("fixed-share", by=("unit_type",) if kind is None else ("unit_type", "make")), kind
    )
    _show(rows, total[0], told, group)
    blocks.rests_on(
        f"Lines: likely range (95 %), most jobs first. Fault jobs reported {words.window(total[0])}."
    )
    blocks.worked_out(_how(), *_numbers([total[0], *rows], group))
    blocks.what_next(
        "Ask what stopped the jobs that were not fixed: a part, its price, or a machine that was "
        "worn out. Each needs something else."
    )


def tell(row: dict[str, Any]) -> Told:
    """Both denominators: jobs whose outcome is known, and all jobs."""
    unknown = row["all_jobs"] - row["denominator"]
    sure = f"Fixed: {words.counts_of(row)} jobs whose outcome is known{words.share_after_counts(row)}."
    if not unknown:
        return Told(sure)
    over_all = f"{words.whole(row['numerator'])} of {words.whole(row['all_jobs'])}"
    return Told(
        sure, f"Of all jobs: {over_all}; how {words.counted(unknown, 'job', 'jobs')} ended is not known."
    )


def _label(row: dict[str, Any], group: str) -> str:
    return row[group] or "not recorded"


def _show(rows: list[dict[str, Any]], total: dict[str, Any], told: Told, group: str) -> None:
    rows.sort(key=lambda row: (-row["denominator"], _label(row, group)))
    drawn = [Drawn(_label(row, group), words.share_said(row), row) for row in rows if row["denominator"]]
    value = total["value"]
    reference = (
        None
        if value is None
        else Reference(value, f"all together: {words.percent(value, words.decimals_of(total))}")
    )
    if drawn:
        show_rows(drawn, SCALE, told, reference)


def _how() -> list[str]:
    return [
        (
            "Jobs that ended fixed, of the jobs whose outcome is known. Jobs that are still open or "
            "have no outcome are left out of the first "
            "figure and are in the second: the truth lies between."
        ),
        "Kinds of machine differ in what people bring or call for, so a lower share is not worse work.",
    ]


def _numbers(rows: list[dict[str, Any]], group: str) -> tuple[list[str], list[list[str]]]:
    header = ["which", "fixed", "known outcome", "share", "likely from", "to", "all jobs"]
    cells = []
    for at, row in enumerate(rows):
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        counts = [words.whole(row["numerator"]), words.whole(row["denominator"])]
        name = _label(row, group) if at else "all together"
        cells.append(
            [
                name,
                *counts,
                share,
                words.percent(row["low"], 1),
                words.percent(row["high"], 1),
                words.whole(row["all_jobs"]),
            ]
        )
    return header, cells
