"""Which repairs come back? Procedures against others of the same kind of work, three at most, with what a trainer needs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.listed import DRAWN
from dashboards.questions.procedure_told import in_like_jobs, points
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Which repairs come back?"
DAYS = 90
SCALE = Scale("times as many returns as usual", ".1f")
AT_ONCE = 3


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet).rows, kind)
    worse = worse_of(rows)
    rest = [row for row in rows if row["band"] == "cannot tell"]
    blocks.ask(QUESTION)
    told = tell(worse, rest, len(rows))
    blocks.answer(told)
    choose()
    if worse:
        shown = worse[:AT_ONCE]
        show_rows([_drawn(row, kind) for row in shown], SCALE, told, Reference(1.0, "as usual"))
        book = fleet.trainers_book()
        for at, row in enumerate(shown):
            with st.expander(f"{words.capital(label(row, kind))}: what to know of it", expanded=not at):
                blocks.points(*points(row, book.detail(row)))
    hidden(rows, kind)
    _folded(worse[AT_ONCE:], rest, [row for row in rows if row["band"] == "better"], kind)
    if rows:
        blocks.rests_on(_rests_on(rows))
        blocks.worked_out(_how(), *_numbers([*worse, *rest], kind))
    blocks.what_next(_what_next(worse, kind))


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("procedures", by=())


def of_kind(rows: list[dict[str, Any]], kind: str | None) -> list[dict[str, Any]]:
    """Rows of one kind of machine that name their part."""
    named = [row for row in rows if row["part_no"] or row["part_name"]]
    return words.tell_parts_apart([row for row in named if kind is None or row["unit_type"] == kind])


def worse_of(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What surely comes back more, the surest first: by the low end of its range."""
    return sorted(
        (row for row in rows if row["band"] == "worse"), key=lambda row: (-row["low"], words.fix_label(row))
    )


def label(row: dict[str, Any], kind: str | None = None) -> str:
    """Part, what was done, and the kind of machine unless that was chosen."""
    return words.fix_label(row) if kind else f"{row['unit_type']}: {words.fix_label(row)}"


def counts(row: dict[str, Any]) -> str:
    """57 of 159 came back; about 10 is usual."""
    return (
        f"{words.whole(row['observed'])} of {words.whole(row['jobs'])} came back; "
        f"{words.figure(row['expected'])} would be usual"
    )


def tell(worse: list[dict[str, Any]], rest: list[dict[str, Any]], looked_at: int) -> Told:
    """How many procedures come back more often than others of their kind, and how many cannot be told apart."""
    silent = (
        f"For {words.whole(len(rest))} of {words.counted(looked_at, 'procedure', 'procedures')} it cannot be told."
        if rest
        else ""
    )
    if not worse:
        return Told(
            "No procedure comes back more often than others of its kind, as far as can be told.", silent
        )
    first = worse[0]
    more = words.counted(len(worse), "procedure comes", "procedures come")
    return Told(
        f"{words.capital(more)} back more often than others of their kind. Most surely {label(first)}: {counts(first)}.",
        silent,
    )


def _drawn(row: dict[str, Any], kind: str | None) -> Drawn:
    return Drawn(words.capital(label(row, kind)), counts(row), row, kept=True)


def hidden(rows: list[dict[str, Any]], kind: str | None) -> None:
    """What the total hides: procedures that come back more often only where like jobs are compared."""
    found = [row for row in rows if row["band"] != "worse" and row.get("like")]
    if found:
        blocks.under("Not in the total, but in like jobs more often than others come back:")
        blocks.points(
            *(
                (words.capital(label(row, kind)), f"{in_like_jobs(row)}; in all {counts(row)}")
                for row in found
            )
        )


def _folded(
    more: list[dict[str, Any]], rest: list[dict[str, Any]], better: list[dict[str, Any]], kind: str | None
) -> None:
    header = ["procedure", "back", "fixes", "usual"]
    for one, many, rows in (
        ("more that comes back more often", "more that come back more often", more),
        ("that comes back less often", "that come back less often", better),
        ("of which it cannot be told", "of which it cannot be told", rest),
    ):
        if rows:
            with st.expander(words.counted(len(rows), f"procedure {one}", f"procedures {many}")):
                # Names without an order of merit: where nothing can be told there is nothing to rank.
                listed = rows if rows is more else sorted(rows, key=lambda row: label(row, kind))
                cells = [
                    [
                        label(row, kind),
                        words.whole(row["observed"]),
                        words.whole(row["jobs"]),
                        words.figure(row["expected"]),
                    ]
                    for row in listed[:DRAWN]
                ]
                st.html(blocks.table(header, cells))
                blocks.cut_short(len(cells), len(rows))


def _rests_on(rows: list[dict[str, Any]]) -> str:
    return (
        f"Lines: likely range (95 %), sorted by its low end, {AT_ONCE} at a time. Jobs that ended fixed, {words.window(rows[0])}, "
        f"each followed for up to {DAYS} days, back with the same fault; {words.counted(rows[0]['looked_at'], 'procedure', 'procedures')} "
        "looked at: kind of machine, part, what was done."
    )


def _how() -> list[str]:
    return [
        (
            "Each procedure is held against the others in which the same was done (replaced against replaced), over the days that each "
            "job was really followed, itself left out. Usual is the middle one of the others. It is named where more than half as many "
            "again surely come back, chance ruled out after allowing for how many were looked at (Benjamini-Hochberg: of those named, "
            "about 5 in 100 are false alarms). Beside the total, each is held against the same work on the same kind of machine, on "
            "machines of like age, of the same make, and with the same symptom; where total and like jobs disagree, it is said."
        ),
        (
            "A hard repair comes back more often in the best of hands. This says where to look, and nothing of who or what is to blame; "
            "nobody is named, and whether all do it alike is said without saying who."
        ),
        "What comes back is a floor: some customers call someone else.",
    ]


def _numbers(rows: list[dict[str, Any]], kind: str | None) -> tuple[list[str], list[list[str]]]:
    header = [
        "procedure",
        "back",
        "fixes",
        "usual",
        "times as many",
        "likely from",
        "to",
        "adjusted p",
        "without another part",
    ]
    cells = [
        [
            label(row, kind),
            words.whole(row["observed"]),
            words.whole(row["jobs"]),
            words.figure(row["expected"]),
            *("–" if row[name] is None else words.figure(row[name]) for name in ("value", "low", "high")),
            f"{row['adjusted_p']:.2g}",
            row["band_without_another_part"],
        ]
        for row in rows
    ]
    return header, cells


def _what_next(worse: list[dict[str, Any]], kind: str | None) -> str:
    if not worse:
        return "Nothing to change yet. Record part and action on every job, so that more of them can be told apart."
    first = label(worse[0], kind)
    if worse[0].get("like") in ("unit_type", "age_band", "make"):
        return (
            f"“{words.capital(first)}”: look at the machines before the work. Against like machines it comes back about as often as "
            "other work does."
        )
    if worse[0]["band_without_another_part"] != "worse":
        return (
            f"“{words.capital(first)}”: the part was often not the fault. Teach the check that proves it bad before it is worked on; "
            "the sheet below has the order."
        )
    return (
        f"Take the comebacks of “{first}” to the bench: the part, the way it was done, or a cause outside the machine "
        "(drain, supply, level, vent, use)? Teach one change, write down the day, and look at the jobs from then on only."
    )
