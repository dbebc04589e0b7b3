"""Which repairs come back? Kinds of fix in bands against all others; never a league table."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Which repairs come back?"
DAYS = 30
SCALE = Scale(f"back with the same fault within {DAYS} days", ".0%", most=1)
HANDFUL = 5


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind, "part_no", "action").refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    total = of_kind(_ask(fleet, kind), kind)
    rows = of_kind(_ask(fleet, kind, "part_no", "action"), kind)
    rows = [row for row in rows if row["part_no"] or row["part_name"]]
    blocks.ask(QUESTION)
    if not rows or not total:
        blocks.answer(Told("No fix here names the part it was done on."))
        choose()
        return
    worse = sorted(
        (row for row in rows if row["band"] == "worse"), key=lambda row: (-row["low"], words.fix_label(row))
    )
    better = sorted(
        (row for row in rows if row["band"] == "better"), key=lambda row: (row["high"], words.fix_label(row))
    )
    rest = sorted((row for row in rows if row["band"] == "cannot tell"), key=words.fix_label)
    told = tell(worse, rest, len(rows))
    blocks.answer(told)
    choose()
    _show(worse, better, rest, total[0], told)
    blocks.rests_on(_rests_on(total[0], len(rows)))
    blocks.worked_out(_how(kind), *_numbers([*worse, *better, *rest]))
    blocks.what_next(_what_next(worse))


def _ask(fleet: Fleet, kind: str | None, *fix: str) -> Answer:
    return fleet.ask(
        "repeat-visits", by=fix if kind is None else ("unit_type", *fix), days=DAYS, kind="same-fault"
    )


def tell(worse: list[dict[str, Any]], rest: list[dict[str, Any]], looked_at: int) -> Told:
    """How many kinds of fix come back more often than the others, and how many cannot be told apart."""
    silent = (
        f"For {words.whole(len(rest))} of {words.counted(looked_at, 'kind of fix', 'kinds of fix')} it cannot be told."
        if rest
        else ""
    )
    if not worse:
        return Told("No kind of fix comes back more often than the others, as far as can be told.", silent)
    first = worse[0]
    more = words.counted(len(worse), "kind of fix comes", "kinds of fix come")
    return Told(
        f"{words.capital(more)} back more often than the others. Most surely: "
        f"{words.fix_label(first)}, {words.share_told(first)}.",
        silent,
    )


def _drawn(row: dict[str, Any]) -> Drawn:
    band = {"worse": "comes back more", "better": "comes back less"}.get(row["band"])
    said = words.share_said(row)
    return Drawn(words.fix_label(row), f"{band} · {said}" if band else said, row, kept=row["band"] == "worse")


def _show(
    worse: list[dict[str, Any]],
    better: list[dict[str, Any]],
    rest: list[dict[str, Any]],
    total: dict[str, Any],
    told: Told,
) -> None:
    at = total["value"]
    reference = (
        None if at is None else Reference(at, f"all fixes: {words.percent(at, words.decimals_of(total))}")
    )
    shown = [_drawn(row) for row in (*worse[:HANDFUL], *better[:HANDFUL])]
    if shown:
        show_rows(shown, SCALE, told, reference)
    more = [_drawn(row) for row in (*worse[HANDFUL:], *better[HANDFUL:])]
    if more:
        with st.expander(f"{len(more)} more that can be told apart"):
            show_rows(more, SCALE, told, reference)
    if rest:
        with st.expander(f"Cannot tell: {words.counted(len(rest), 'kind of fix', 'kinds of fix')}, by name"):
            _listed(rest)


def _listed(rows: list[dict[str, Any]]) -> None:
    """Names and counts without an order of merit: where nothing can be told there is nothing to rank."""
    cells = [[words.fix_label(row), words.counts_of(row), words.likely_share(row)] for row in rows]
    st.html(blocks.table(["fix", "back", "likely range"], cells))


def _rests_on(row: dict[str, Any], looked_at: int) -> str:
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    return (
        "Lines: likely range (95 %). Square: comes back more often than all other fixes together; round: less. Sorted by "
        f"the end of the range nearest to the others, {HANDFUL} of each at most. Jobs that ended fixed, "
        f"{words.window(row)}, each followed for up to {DAYS} days; "
        f"{words.counted(looked_at, 'kind of fix', 'kinds of fix')} looked at.{note}"
    )


def _how(kind: str | None) -> list[str]:
    others = "all others" if kind is None else f"all others, on every kind of machine and not only on {kind}"
    return [
        (
            f"Each kind of fix (part and what was done to it) is held against {others}. It is placed only where 20 or "
            "more stand on each side, the likely range of the difference leaves out zero, and chance is ruled out "
            "after allowing for how many were looked at (Benjamini-Hochberg: of those placed, about 5 in 100 are false alarms)."
        ),
        (
            "The others are easier and harder jobs than this one: a hard repair comes back more often in the best of "
            "hands. The band says where to look, not who or what is to blame."
        ),
        "What comes back is a floor: some customers call someone else.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["fix", "back", "fixes", "share", "likely from", "to", "against the others", "adjusted p"]
    cells = []
    for row in rows:
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
        limits = [words.percent(row[name], 1) for name in ("low", "high")]
        cells.append([words.fix_label(row), *counts, share, *limits, row["band"], f"{row['adjusted_p']:.2g}"])
    return header, cells


def _what_next(worse: list[dict[str, Any]]) -> str:
    if not worse:
        return "Nothing to change yet. Record part and action on every job, so that more of them can be told apart."
    first = words.fix_label(worse[0])
    return (
        f"Take the comebacks of “{first}” to the bench: the part, the way it was done, or a cause outside the machine "
        "(drain, supply, level, vent, use)? Teach one change, and look at the jobs from then on only."
    )
