"""Which parts break down most often?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import polars as pl

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

MACHINES = 100  # on pages a rate is for this many machines
RATE = Scale("breakdowns a year per 100 machines", ".1~f", factor=MACHINES)
SHARE = Scale("% of jobs in which the part was worked on", ".0%", most=1)
POPULATION = {
    "machine list": "All machines in the machine list that can have the part",
    "machines seen": "Machines we have been to; the first job of each is left out, for without it we would not "
    "know the machine",
    "shares": "Jobs, for the log does not say which machine is which: a share of the work, not how often a "
    "machine fails",
}


QUESTION = "Which parts break down most often?"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet, kind), kind)
    is_share = bool(rows) and rows[0]["basis"] == "shares"
    blocks.ask("Which parts do we work on most?" if is_share else QUESTION)
    if not rows:
        blocks.answer(Told("No part was worked on here."))
        choose()
        return
    rows.sort(key=lambda row: (-row["low"], row["part_no"] or ""))
    told = tell(rows)
    blocks.answer(told)
    choose()
    scale = SHARE if is_share else RATE
    show_rows([Drawn(words.part_label(row), said(row), row) for row in rows], scale, told)
    blocks.rests_on(_rests_on(rows[0]))
    blocks.worked_out(_how(is_share=is_share, looked_at=len(rows)), *_numbers(rows, is_share=is_share))
    blocks.what_next(_what_next(rows, is_share=is_share))


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    return fleet.ask("part-failure-rate", by=("part_no",) if kind is None else ("unit_type", "part_no"))


def of_kind(found: Answer, kind: str | None) -> list[dict[str, Any]]:
    """Rows of one kind of machine, or all."""
    is_split = kind is not None and "unit_type" in found.frame.columns
    rows = found.frame.filter(pl.col("unit_type") == kind).to_dicts() if is_split else found.rows
    return words.tell_parts_apart(rows)


def tell(rows: list[dict[str, Any]]) -> Told:
    """Name the part whose low end lies highest, and those that cannot be told apart from it."""
    telling = [row for row in rows if row["value"] is not None]
    few = len(rows) - len(telling)
    too_few = f"For {few} of {len(rows)} parts there is too little to say." if few else ""
    if not telling:
        return Told("Cannot tell yet which part breaks down most.", too_few)
    first, *others = telling
    near = [
        f"the {words.part_label(row)}" for row in others if row["high"] is None or row["high"] > first["low"]
    ]
    apart = f"It cannot be told apart yet from {words.listed(near)}." if near else ""
    name = words.part_label(first)
    if first["basis"] == "shares":
        return Told(
            f"Most surely the {name}: {words.share_told(first)}.", " ".join(filter(None, [apart, too_few]))
        )
    return Told(f"Most surely the {name}: {rate_told(first)}.", " ".join(filter(None, [apart, too_few])))


def rate_told(row: dict[str, Any]) -> str:
    """31 breakdowns in 742 machine-years, that is 4.2 a year for every 100 machines (likely 2.9 to 6)."""
    value, low, high = (words.figure(row[name] * MACHINES) for name in ("value", "low", "high"))
    count = words.counted(row["numerator"], "breakdown", "breakdowns")
    return f"{count}, about {value} a year for every 100 machines (likely {low} to {high})"


def said(row: dict[str, Any]) -> str:
    """The short form beside a row of the chart."""
    if row["basis"] == "shares":
        return words.share_said(row)
    count = words.counted(row["numerator"], "breakdown", "breakdowns")
    if row["value"] is None:
        return f"{count} · too few to say"
    return f"{words.figure(row['value'] * MACHINES)} a year · {count}" + (
        " · rough" if row["sample"] == "rough" else ""
    )


def _rests_on(row: dict[str, Any]) -> str:
    text = (
        f"Lines: likely range (95 %), sorted by its low end. {POPULATION[row['basis']]}. {words.window(row)}."
    )
    lost = row.get("value_24_months")
    if lost is None or row["value"] is None:
        return text
    name, kept, given_up = (
        words.part_label(row),
        *(words.figure(rate * MACHINES) for rate in (row["value"], lost)),
    )
    would_be = "still be" if kept == given_up else "be"
    return (
        f"{text} A machine that went elsewhere looks as if it never failed: were each given up 24 months "
        f"after its last contact, the {kept} for the {name} would {would_be} {given_up}."
    )


def _how(*, is_share: bool, looked_at: int) -> list[str]:
    if is_share:
        return [
            (
                "Jobs in which the part was cleaned, freed, adjusted, repaired, reset or replaced, "
                "of all fault jobs on machines that have it."
            )
        ]
    return [
        (
            "A breakdown is a reported fault in which the part was cleaned, freed, adjusted, "
            "repaired, reset or replaced. A job within 30 days "
            "after an earlier one on the same part of the same machine is that old breakdown not yet "
            "cured: it counts as a repeat visit, not here."
        ),
        (
            "Breakdowns are divided by the time that machines with this part were under our eyes, "
            "and given for 100 machines and a year."
        ),
        (
            f"{looked_at} parts were looked at; with that many, the top of a list looks worse than it "
            "is. Trust the low end of its range."
        ),
    ]


def _numbers(rows: list[dict[str, Any]], *, is_share: bool) -> tuple[list[str], list[list[str]]]:
    if is_share:
        header = ["part", "jobs with it", "jobs", "share", "likely from", "to"]
        return header, [_figures(row, words.percent, 1) for row in rows]
    header = ["part", "breakdowns", "machine-years", "a year per 100", "likely from", "to"]
    header += ["jobs, repeats too", "open jobs, part not known yet"]
    cells = [
        [*_figures(row, words.figure, MACHINES), _count(row.get("jobs")), _count(row.get("open_jobs"))]
        for row in rows
    ]
    return header, cells


def _figures(row: dict[str, Any], show: Callable[[float], str], factor: int) -> list[str]:
    return [
        _name(row),
        words.whole(row["numerator"]),
        words.whole(row["denominator"]),
        "too few" if row["value"] is None else show(row["value"] * factor),
        show(row["low"] * factor),
        "–" if row["high"] is None else show(row["high"] * factor),
    ]


def _count(number: float | None) -> str:
    return "–" if number is None else words.whole(number)


def _name(row: dict[str, Any]) -> str:
    number = row.get("part_no")
    return f"{words.part_label(row)} ({number})" if row.get("part_name") and number else words.part_label(row)


def _what_next(rows: list[dict[str, Any]], *, is_share: bool) -> str:
    telling = [row for row in rows if row["value"] is not None]
    safety = "Parts that keep people safe are replaced, whatever the figures say."
    if not telling:
        return (
            "Go on recording which part was worked on; look again when some parts have three "
            f"breakdowns or more. {safety}"
        )
    name = words.part_label(telling[0])
    if is_share:
        return (
            "Record which machine each job was on (its number, or make and serial): then this page "
            f"can say how often the {name} fails. {safety}"
        )
    return (
        f"Have the {name} on the van, and read its last jobs for a cause outside the machine (drain, "
        f"supply, level, vent, use). {safety}"
    )
