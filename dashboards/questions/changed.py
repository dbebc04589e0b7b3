"""Has something changed? Parts, fixes and lots that are worth a look, with the false alarms to expect."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.rows import Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Has something changed?"
SCALE = Scale("times as many as before, or as in the other weeks", ".1f")
TOLD = "worth a look"
HANDFUL = 6
BLOCK = "serial block"
LIVES = {"week of fitting": "fitted", "week of purchase": "bought"}


def refusal(fleet: Fleet, kind: str | None) -> str:  # noqa: ARG001 - every question is asked alike
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = [row for row in _ask(fleet).rows if kind is None or row["unit_type"] in (kind, None)]
    found = once(
        sorted((row for row in rows if row["band"] == TOLD), key=lambda row: (-row["low"], label(row)))
    )
    blocks.ask(QUESTION)
    told = tell(found, rows)
    blocks.answer(told)
    choose()
    if found:
        show_rows(
            [Drawn(label(row), said(row), row, kept=True) for row in found[:HANDFUL]],
            SCALE,
            told,
            Reference(1.0, "as before"),
        )
    blocks.rests_on(_rests_on(rows))
    blocks.worked_out(_how(), *_numbers(rows))
    blocks.what_next(what_next(found))


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("changes", by=())


def label(row: dict[str, Any]) -> str:
    """What is watched."""
    part = words.part_label(row)
    if row["watched"] in LIVES:
        return f"{words.capital(part)}, {LIVES[row['watched']]} {_weeks(row)}"
    if row["watched"] == BLOCK:
        many = "a block" if row["serial_blocks"] == 1 else f"{words.spelled(row['serial_blocks'])} blocks"
        return f"{row['model']}, {part}: {many} of serials, made or installed {_weeks(row)}"
    if row["adjusted_p"] is not None:
        made = "made" if row["watched"] == "made week" else "installed"
        return f"{row['model']}, {part}: machines {made} {_weeks(row)}"
    if row["action"]:
        return f"{words.capital(row['unit_type'])}: {words.fix_label(row)}, comebacks"
    return f"{words.capital(row['unit_type'])}: {part}, breakdowns"


def once(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A bad lot shows by its weeks and by its blocks of serials: what stands out more is kept, the table has both."""
    kept: list[dict[str, Any]] = []
    for row in found:
        same = [
            each
            for each in kept
            if BLOCK in (row["watched"], each["watched"])
            and (row["model"], row["part_no"]) == (each["model"], each["part_no"])
            and row["first_on"] <= each["last_on"]
            and each["first_on"] <= row["last_on"]
        ]
        kept += [] if same else [row]
    return kept


def _weeks(row: dict[str, Any]) -> str:
    return f"{words.day(row['first_on'])} to {words.day(row['last_on'])}"


def said(row: dict[str, Any]) -> str:
    """38 since 23 Dec 2024; 17 would be usual."""
    since = (
        f" since {words.day(row['first_on'])}"
        if row["adjusted_p"] is None
        else f" on {row['machines']} machines"
    )
    since = f" of {row['machines']} fitted" if row["watched"] in LIVES else since
    return f"{words.whole(row['observed'])}{since}; {words.figure(row['expected'])} would be usual"


def tell(found: list[dict[str, Any]], rows: list[dict[str, Any]]) -> Told:
    """What is worth a look; and that some are false alarms."""
    charts = [row for row in rows if row["adjusted_p"] is None]
    alarms = max((row["false_alarms_a_year"] or 0.0 for row in charts), default=0.0)
    false = (
        f"About {words.figure(alarms)} false alarm a year is to be expected of all of them together."
        if charts
        else ""
    )
    if not found:
        return Told(
            f"Nothing that can be told: {words.whole(len(charts))} parts and fixes are watched.", false
        )
    many = "One is" if len(found) == 1 else f"{words.capital(words.spelled(len(found)))} are"
    return Told(f"{many} worth a look. Most surely {label(found[0])}: {said(found[0])}.", false)


def _rests_on(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return ""
    watched = next((row["watched_from"] for row in rows if row["watched_from"]), None)
    note = next((row["note"] for row in rows if "not watched" in (row["note"] or "")), "")
    since = (
        f"What was usual until {words.day(watched)} is the measure; watched since then. " if watched else ""
    )
    return f"Lines: likely range (95 %). {since}{words.window(rows[0])}.{' ' + words.capital(note.split('; ')[-1]) + '.' if note else ''}"


def _how() -> list[str]:
    return [
        (
            "Breakdowns of each part, and comebacks after each fix, are counted one by one against what was usual before, for as many "
            "machines and fixes as there are, at the ages they have. When they run ahead by more than chance, it is told once. The line "
            "is drawn so that all together give about the false alarms said above, what the past leaves open included."
        ),
        (
            "Lots: machines of one model made within some weeks or with serials that follow each other, or new parts fitted within some "
            "weeks, whose part fails more than that of the others at the same age; chance is ruled out by dealing the failures anew, over "
            "all models and parts looked at."
        ),
        "Worth a look is not defective: a season, a new way of writing things down or a new kind of customer looks the same.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["watched", "seen", "usual", "times as many", "likely from", "to", "told on", ""]
    cells = [
        [
            label(row),
            words.whole(row["observed"]),
            words.figure(row["expected"]),
            *("–" if row[name] is None else words.figure(row[name]) for name in ("value", "low", "high")),
            words.day(row["told_on"]) if row["told_on"] else "–",
            row["band"],
        ]
        for row in sorted(rows, key=lambda row: (row["band"] != TOLD, label(row)))
    ]
    return header, cells


def what_next(found: list[dict[str, Any]]) -> str:
    """Look at the parts; and where to read the serials of a block."""
    if not found:
        return "Nothing. It is watched with every load."
    blocks_of = [row for row in found if row["watched"] == BLOCK and row["job_ids"]]
    where = (
        f" Serials are not kept: read them in your own files on {_jobs(blocks_of[0])}." if blocks_of else ""
    )
    return (
        "Lay the last parts that came out on the bench and look at them together: a delivery, a make of part, a new way of doing it? "
        "Ask the supplier about the lot. Change nothing on the strength of this alone."
        f"{where}"
    )


def _jobs(row: dict[str, Any]) -> str:
    """Job J12; jobs J12, J40."""
    return f"job{'s' * (',' in row['job_ids'])} {row['job_ids']}"
