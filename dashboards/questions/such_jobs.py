"""What usually helps here? Works done in jobs like this one, how often they held, how long it takes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told
from pipeline.vocabulary import cautions

DAYS = 30
LISTED = 5
CANNOT_SAY = {
    "repeat-visits": "Whether it holds",
    "no-fault-found": "How often nothing is found",
    "time-to-fix": "How long it takes",
}
FEWEST = 10  # jobs like this before a count says anything
SCALE = Scale(f"back with the same fault within {DAYS} days", ".0%", most=1)


def heading(symptom: str | None) -> str:
    """The question is what the customer sees."""
    return words.capital(symptom) if symptom else "Any fault"


def render(fleet: Fleet, kind: str, symptom: str | None) -> None:
    """Draw the answer for one kind of machine and one symptom, or any."""
    jobs = SuchJobs(fleet, kind, symptom)
    found, time, works = (
        jobs.rows("no-fault-found"),
        jobs.rows("time-to-fix"),
        jobs.fixes("part_no", "action"),
    )
    parts, total = jobs.fixes("part_no"), jobs.fixes()
    blocks.ask(heading(symptom))
    blocks.under(_which(kind, found))
    blocks.cautions(cautions.for_kind(kind))
    told = tell(parts, total)
    blocks.answer(told)
    items = [*_outside(found), *(_part(row, works) for row in parts[:LISTED])]
    if items:
        blocks.fixes(items)
    blocks.note_line("Book", _book(time))
    if found and found[0]["numerator"]:
        blocks.note_line(
            "Nothing found", f"in {words.counts_of(found[0])} such jobs; ask when the fault shows itself."
        )
    if works and _is_followed(works[0]):
        blocks.rests_on("Does it hold? Back with the same fault, by what was done:")
        show_rows(
            [Drawn(words.fix_label(row), _said(row), row, kept=row["action"] != "replace") for row in works],
            SCALE,
            told,
        )
    if total:
        blocks.rests_on(_rests_on(total[0], kind, symptom))
    if jobs.refused:
        blocks.points(*jobs.refused.items())
    blocks.worked_out(_how(), *_numbers(works))
    blocks.what_next(_what_next(works, found))


@dataclass
class SuchJobs:
    """Jobs on one kind of machine with one symptom, or any; `refused` gathers what the log cannot say of them."""

    fleet: Fleet
    kind: str
    symptom: str | None
    refused: dict[str, str] = field(default_factory=dict)

    def rows(self, measure: str, *more: str, **choices: Any) -> list[dict[str, Any]]:
        """Rows of a measure for such jobs; nothing where it refuses."""
        by = ("unit_type", *(("symptom",) if self.symptom else ()), *more)
        found = self.fleet.ask(measure, by=by, **choices)
        if found.refusal:
            self.refused.setdefault(CANNOT_SAY[measure], found.refusal)
        return [
            row
            for row in found.rows
            if row["unit_type"] == self.kind and (self.symptom is None or row["symptom"] == self.symptom)
        ]

    def fixes(self, *by: str) -> list[dict[str, Any]]:
        """
        Fixed jobs by what was done, and whether they held, most jobs first; rows that name no part are left out.

        Where no machine can be followed the jobs are counted all the same: their visits are.
        """
        rows = self.rows("repeat-visits", *by, days=DAYS, kind="same-fault")
        if CANNOT_SAY["repeat-visits"] in self.refused:
            rows = self.rows("time-to-fix", *by, clock="visits")
        if not by:
            return rows
        named = words.tell_parts_apart([row for row in rows if row["part_no"] or row["part_name"]])
        return sorted(named, key=lambda row: (-row["denominator"], words.fix_label(row)))


def _is_followed(row: dict[str, Any]) -> bool:
    """Whether the row says how many came back, and not only how many jobs there were."""
    return row.get("mature_denominator") is not None


def _which(kind: str, found: list[dict[str, Any]]) -> str:
    jobs = f" · {words.counted(found[0]['denominator'], 'job', 'jobs')} attended" if found else ""
    return f"{kind} · any make and model{jobs}"


def tell(parts: list[dict[str, Any]], total: list[dict[str, Any]]) -> Told:
    """The part worked on most in such jobs that ended fixed, with its count."""
    if not parts or not total:
        return Told(
            "", "No job like this ended fixed with its part recorded, so there is nothing to say yet."
        )
    of = total[0]["denominator"]
    if of < FEWEST:
        return Told("", f"Too few to say: {words.counted(of, 'job', 'jobs')} like this ended fixed so far.")
    first, *others = parts
    counts = f"{words.whole(first['denominator'])} of {words.whole(of)}"
    rest = of - first["denominator"]
    other = f"The other {words.whole(rest)}: something else." if not others and rest > 0 else ""
    return Told(f"{counts} like this that ended fixed: the {words.part_label(first)}.", other)


def _part(row: dict[str, Any], works: list[dict[str, Any]]) -> tuple[str, str]:
    """A part, and beneath it what was done to it and how often that came back."""
    mine = [
        work for work in works if (work["part_no"], work["part_name"]) == (row["part_no"], row["part_name"])
    ]
    jobs = words.counted(row["denominator"], "job", "jobs")
    name = f"{words.capital(words.part_label(row))} · {jobs}"
    if not _is_followed(row):
        return name, "; ".join(f"{_done(work)}: {words.whole(work['denominator'])}" for work in mine)
    done = "; ".join(f"{_done(work)}: {words.counts_of(work)} back" for work in mine)
    return name, f"{done} within {DAYS} days"


def _done(work: dict[str, Any]) -> str:
    return words.DONE.get(work["action"], work["action"] or "worked on")


def _outside(found: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """The look outside the machine comes first: it costs a minute, and it is part of every visit."""
    if not found or not found[0]["numerator_outside"]:
        return []
    row = words.beside(found[0], "outside")
    return [
        (
            "Look outside first: drain, supply, level, vent, use",
            f"{words.counts_of(row)} such jobs had their cause outside the machine",
        )
    ]


def _book(time: list[dict[str, Any]]) -> str:
    if not time:
        return "cannot be told: no minutes at the machine are recorded for such jobs."
    row = time[0]
    if row["value"] is None:
        return f"too few to say ({words.counted(row['denominator'], 'job', 'jobs')} with minutes recorded)."
    half, most = words.figure(row["median"]), words.figure(row["p80"])
    return (
        f"{half} minutes at the machine do for half of them, {most} for eight in ten "
        f"({words.counted(row['denominator'], 'job', 'jobs')}), test run included."
    )


def _said(row: dict[str, Any]) -> str:
    counts = f"{words.whole(row['numerator'])} of {words.whole(row['denominator'])} back"
    if row["value"] is None:
        return f"{counts} · too few to say"
    return counts + (" · rough" if row["sample"] == "rough" else "")


def _rests_on(total: dict[str, Any], kind: str, symptom: str | None) -> str:
    others = f"{kind}s with this symptom" if symptom else f"{kind}s"
    jobs = words.counted(total["denominator"], "job", "jobs")
    whole = f"{jobs} on {others} that ended fixed, {words.window(total)}"
    if not _is_followed(total):
        return f"{whole}. A job that worked on two parts stands in both."
    return (
        f"Lines: likely range (95 %). Round: a new part; square: the old part kept. {whole}, followed for up to {DAYS} "
        "days. A job that worked on two parts stands in both."
    )


def _how() -> list[str]:
    return [
        (
            "Jobs of this kind of machine with this symptom that ended fixed, by the part worked on and what was done to "
            f"it; and how many of them were reported again with the same fault within {DAYS} days."
        ),
        (
            "What was done often is not what is wrong this time: check before you fit. Freed parts may have looked better "
            "than replaced ones, so the two are not a trial."
        ),
        "Minutes: at the machine, all visits of the job together, no travel.",
    ]


def _numbers(works: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["fix", "back", "jobs", "share back", "likely from", "to"]
    cells = []
    for row in works if works and _is_followed(works[0]) else ():
        share = "too few" if row["value"] is None else words.percent(row["value"], 1)
        counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
        cells.append(
            [
                words.fix_label(row),
                *counts,
                share,
                words.percent(row["low"], 1),
                words.percent(row["high"], 1),
            ]
        )
    return header, cells


def _what_next(works: list[dict[str, Any]], found: list[dict[str, Any]]) -> str:
    outside = (
        "the installation first" if found and found[0]["numerator_outside"] else "the simple things first"
    )
    bring = [f"the {words.part_label(row)}" for row in works if row["action"] == "replace"][:2]
    carry = f" Bring {words.listed(bring)}." if bring else ""
    return (
        f"Make safe, then look at {outside}; prove the part bad before you fit one, and end with a test run.{carry} Write "
        "down symptom, part, action and minutes: that is what the next one reads here."
    )
