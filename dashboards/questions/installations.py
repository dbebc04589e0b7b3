"""What does a bad installation cost? How often it is found where somebody looks, what was done before, what follows."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told
from pipeline.vocabulary.check_minutes import ASSUMPTION

QUESTION = "What does a bad installation cost?"
SCALE = Scale("found where somebody looked", ".0%", most=1)
AFTER = Scale("another fault within a year; square: left as it was", ".0%", most=1)


def refusal(fleet: Fleet, _kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet), kind)
    rows = sorted(rows, key=lambda row: (-row["low"], _label(row)))
    blocks.ask(QUESTION)
    told = tell(rows)
    blocks.answer(told)
    choose()
    if rows:
        show_rows([Drawn(_label(row), words.share_said(row), row) for row in rows], SCALE, told)
        _afterwards(rows)
        blocks.rests_on(_rests_on(rows))
    blocks.worked_out(_how(rows), *_numbers(rows))
    blocks.what_next(_what_next(rows))


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("outside-causes", by=("unit_type",))


def _label(row: dict[str, Any]) -> str:
    return f"{row['unit_type'] or 'kind not recorded'}: {row['finding']}"


def tell(rows: list[dict[str, Any]]) -> Told:
    """How often the commonest one is found, and what was done before all of them."""
    if not rows:
        return Told("No fault outside the machine was found here.")
    first, jobs = rows[0], sum(row["jobs"] for row in rows)
    hours = sum(row["hours_before"] * row["jobs"] for row in rows)
    costs = _parts_before(rows)
    fixes = sum(row["fixes_before"] * row["jobs"] for row in rows)
    return Told(
        f"Found most surely: “{_label(first)}”, {words.share_told(first)} where somebody looked. Before {words.counted(jobs, 'such find', 'such finds')} "
        f"the machines had been fixed {words.counted(round(fixes), 'time', 'times')} for the same complaint, in {words.figure(hours)} hours{costs}."
        f"{_saved(rows)}",
        _not_known(rows),
    )


def _parts_before(rows: list[dict[str, Any]]) -> str:
    """What the parts cost that were fitted before; nothing where that is not known or in several currencies."""
    currencies = {row["currency"] for row in rows if row["parts_cost_before"]}
    if len(currencies) != 1 or any(row["parts_cost_before"] is None for row in rows):
        return ""
    amount = sum(row["parts_cost_before"] * row["jobs"] for row in rows)
    return f" and with {currencies.pop() or ''} {words.whole(amount)} of parts".replace("  ", " ")


def _saved(rows: list[dict[str, Any]]) -> str:
    """Minutes of looking for each job that did not come, where that can be told."""
    known = [row for row in rows if (row["avoided_per_minute"] or 0.0) > 0.0]
    if not known:
        return ""
    row = max(known, key=lambda row: row["low_avoided_per_minute"])
    most, least = (1 / max(row[name], 1e-3) for name in ("low_avoided_per_minute", "high_avoided_per_minute"))
    return (
        f" Looking for “{_label(row)}” and putting it right goes with one job fewer in every "
        f"{words.figure(1 / row['avoided_per_minute'])} minutes of looking (likely {words.figure(least)} to {words.figure(most)})."
    )


def _not_known(rows: list[dict[str, Any]]) -> str:
    """What is not known: whether the fixes before were for nothing, and what looking saves."""
    before = "Whether those fixes were for nothing is not known."
    if any(row["avoided_per_minute"] is not None for row in rows):
        return before
    one_sided = [row for row in rows if not row["left"] or not row["put_right"]]
    why = (
        "each was always put right, or never"
        if len(one_sided) == len(rows)
        else "too few were followed both put right and left"
    )
    return f"{before} Nor is what looking saves: {why}."


def _afterwards(rows: list[dict[str, Any]]) -> None:
    """What followed on the machine and on others at the address, put right and left."""
    drawn = [
        _followed(row, whose, end)
        for row in rows
        for whose in ("again", "others")
        for end in ("put_right", "left")
        if row[f"of_{whose}_{end}"]
    ]
    if not drawn:
        return
    st.subheader("What followed within a year", anchor=False)
    show_rows(drawn, AFTER, Told("What followed within a year of such a find."))


def _followed(row: dict[str, Any], whose: str, end: str) -> Drawn:
    marked = {
        name: row[f"{limit}{whose}_{end}"]
        for name, limit in (("low", "low_"), ("value", ""), ("high", "high_"))
    }
    sample = row[f"sample_{whose}_{end}"]
    finds = words.counted(row[f"of_{whose}_{end}"], "find", "finds")
    said = (
        f"{finds} · too few to say"
        if marked["value"] is None
        else f"{words.percent(marked['value'])} · {finds}"
    )
    rough = " · rough" if sample == "rough" else ""
    where = "same machine" if whose == "again" else "others at the address"
    done = "put right" if end == "put_right" else "left"
    # Short, for a phone: the kind of machine stands in the chart above.
    label = f"{row['finding']}, {done}"
    return Drawn(label, f"{where} · {said}{rough}", {**marked, "sample": sample}, kept=end == "left")


def _rests_on(rows: list[dict[str, Any]]) -> str:
    first = rows[0]
    unseen = sum(row["jobs"] - row["numerator"] for row in rows)
    more = f" Found in {words.whole(unseen)} more without a note that somebody looked." if unseen else ""
    return (
        f"Lines: likely range (95 %). Attended fault jobs in which somebody looked at the installation, reported {words.window(first)}. "
        f"One goes with the other; that is not yet a cause.{more}"
    )


def _how(rows: list[dict[str, Any]]) -> list[str]:
    return [
        "Drain run, supply, vent, level, settings: a fault outside the machine, found and put right or told to the customer.",
        "People look where they suspect something, so it is found more often than it would be by looking everywhere.",
        "Before: fixes of the same complaint on that machine, as far back as your guarantee runs.",
        (
            "After: any fault reported within a year, on that machine, and on any other machine at the address. An address with many "
            "machines calls more often whatever is done, so hold put right against left, not one place against another."
        ),
        (
            "Jobs avoided a minute: the share found, times how much rarer the next job is where it was put right, over the minutes of "
            f"a look ({_minutes(rows)}). It needs twenty finds followed on each side."
        ),
    ]


def _minutes(rows: list[dict[str, Any]]) -> str:
    """Minutes of a look with where they come from; kinds of machine may differ."""
    said = {
        f"{words.figure(row['minutes_a_look'])}, {_from(row['minutes_a_look_from'])}": None for row in rows
    }
    return " or ".join(said) or "from the table of checks"


def _from(source: str) -> str:
    return "from the table of checks, an assumption" if source == ASSUMPTION else source


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "found",
        "where looked",
        "fixes before, each",
        "hours before",
        "of them free",
        "parts before",
        "cost of those",
        "put right",
        "left",
        "jobs avoided a minute",
    ]
    cells = []
    for row in rows:
        counts = f"{words.whole(row['numerator'])} of {words.whole(row['denominator'])}"
        before = [
            f"{row[name]:.2f}"
            for name in ("fixes_before", "hours_before", "unpaid_hours_before", "parts_before")
        ]
        cost = (
            "–"
            if row["parts_cost_before"] is None
            else f"{row['currency'] or ''} {row['parts_cost_before']:.2f}".strip()
        )
        saved = "–" if row["avoided_per_minute"] is None else f"{row['avoided_per_minute']:.3f}"
        sides = [words.whole(row[name]) for name in ("put_right", "left")]
        cells.append([_label(row), counts, *before, cost, *sides, saved])
    return header, cells


def _what_next(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return "Look at drain, supply, vent and level on every visit, and note that you looked."
    return (
        f"Look at the installation before a part is fitted, above all for “{_label(rows[0])}”, and note it when all is well too. "
        "Where a customer leaves it as it is, note that it was advised: only then can anybody say what putting it right saves."
    )
