"""Was it another part? Fixes after which work on another part cured the same symptom."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, listed, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Was it another part?"
SCALE = Scale("another part cured the same symptom later", ".0%", most=1)
HANDFUL = 6
OFTEN = 3  # seen so many times before a fix is named: once or twice can be anything


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet, kind), kind)
    total = of_kind(fleet.ask("wrong-part", by=("unit_type",)), kind)
    blocks.ask(QUESTION)
    if not rows or not total:
        blocks.answer(Told("No fix here names both its part and a symptom."))
        choose()
        return
    seen = sorted(
        (row for row in rows if row["numerator"] >= OFTEN), key=lambda row: (-row["low"], _label(row))
    )
    told = tell(seen, rows)
    blocks.answer(told)
    choose()
    whole = total[0] if kind is not None and total[0]["value"] is not None else None
    reference = (
        None
        if whole is None
        else Reference(whole["value"], f"all {kind} fixes: {words.percent(whole['value'], 1)}")
    )
    if seen:
        drawn = [Drawn(_label(row), words.share_said(row), row) for row in seen[:HANDFUL]]
        show_rows(drawn, SCALE, told, reference)
    blocks.rests_on(_rests_on(rows[0], len(rows)))
    blocks.worked_out(_how(rows[0]["days"]), *_numbers(seen))
    blocks.what_next(_what_next(seen))


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    by = ("symptom", "part_no", "action")
    return fleet.ask("wrong-part", by=by if kind is None else ("unit_type", *by), most=listed.MOST)


def _label(row: dict[str, Any]) -> str:
    return f"{row['symptom'] or 'symptom not recorded'}: {words.fix_label(row)}"


def tell(seen: list[dict[str, Any]], rows: list[dict[str, Any]]) -> Told:
    """The fix after which another part most surely was the cure, by the low end of its range."""
    few = sum(row["value"] is None for row in rows)
    silent = f"For {words.whole(few)} of {len(rows)} there is too little for a figure." if few else ""
    hits = words.counted(sum(row["numerator"] for row in rows), "time", "times")
    if not seen:
        return Told(f"Seen {hits}; after no kind of fix {OFTEN} times or more.", silent)
    first = seen[0]
    counts = f"{words.counts_of(first)}{words.share_after_counts(first)}"
    if first["value"] is None:
        counts = f"{words.counts_of(first)}; too few for a figure, {words.likely_share(first)}"
    return Told(
        f"Most surely after “{_label(first)}”: {counts}. Seen {hits} in all; {OFTEN} times "
        f"or more after {words.counted(len(seen), 'kind of fix', 'kinds of fix')}.",
        silent,
    )


def _rests_on(row: dict[str, Any], looked_at: int) -> str:
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    return (
        f"Lines: likely range (95 %), sorted by its low end, {HANDFUL} at most, those seen {OFTEN} times or more. Parts worked on in jobs that ended fixed, "
        f"{words.window(row)}, followed for up to {row['days']} days; {looked_at} pairs of symptom and fix looked at, "
        f"so some stand high by chance.{note}"
    )


def _how(days: int) -> list[str]:
    return [
        (
            f"A fix counts here where the same symptom was reported again on the machine within {days} days, and the job "
            "that cured it worked on another part and not on this one."
        ),
        "A second fault of the same looks, just then, would count as well. A cause outside the machine put right is no other part.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["symptom and fix", "another part", "fixes", "share", "likely from", "to"]
    cells = []
    for row in rows:
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
        cells.append(
            [_label(row), *counts, share, words.percent(row["low"], 1), words.percent(row["high"], 1)]
        )
    return header, cells


def _what_next(seen: list[dict[str, Any]]) -> str:
    if not seen:
        return "Keep writing down symptom and part on every job: it is the only way to see a part fitted in vain."
    return (
        f"Teach the check that would have told them apart before the part is worked on: begin with “{_label(seen[0])}”. "
        "Read those jobs one by one; they are few."
    )
