"""What a pocket sheet may hold: counts of at least ten jobs that held, from which no smaller count can be worked back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.check_order import check_order
from pipeline.measures.check_words import STAGES, step_minutes
from pipeline.measures.symptom_fixes import Fixes, end_of_reports, part_names
from pipeline.measures.symptom_jobs import (
    OUTSIDE,
    TOGETHER,
    jobs_in,
    minutes_in,
    minutes_that_held,
    symptom_jobs,
)
from pipeline.measures.symptom_levels import Levels
from pipeline.measures.symptom_words import Understood
from pipeline.measures.timed_checks import timed_checks
from pipeline.sharing.counted import known_words
from pipeline.sharing.protection import ROUNDED_TO, THRESHOLD, Sum, publishable, rounded
from pipeline.vocabulary import vocabulary
from pipeline.vocabulary.check_minutes import CheckTable
from pipeline.vocabulary.dangers import dangers_of

MODEL_NOT_KNOWN = ""
_BY_NAME = "name: "


@dataclass(frozen=True)
class Pocket:
    """
    Everything on a sheet.

    Attributes
    ----------
    entries : list of dict
        kind, symptom, jobs, parts (name, jobs, actions (action, jobs, minutes)), models (model, parts (name, jobs)), checks
        (text, more), minutes (median, 80th percentile); jobs rounded to 5, none of fewer than ten.
    until : date
        First day that no longer counts.
    """

    entries: list[dict[str, Any]]
    until: date


def pocket(con: duckdb.DuckDBPyConnection, vocabulary_folder: Path | None = None) -> Pocket:
    """
    Count what a sheet may hold.

    Only symptoms and kinds of machine that the vocabulary knows: a word that nobody settled may be anything, a name too.

    Raises
    ------
    CannotAnswerError
        If no count reaches ten.
    """
    until = end_of_reports(con)
    known = known_words(con)
    symptoms = sorted(known["symptom"])
    safe = [
        name
        for name, danger in zip(symptoms, dangers_of(pl.Series(symptoms, dtype=pl.String)), strict=True)
        if not danger
    ]
    table = timed_checks(con, vocabulary_folder).shared(THRESHOLD)
    names = _Names(con, vocabulary_folder)
    entries = []
    for symptom in safe:
        held = symptom_jobs(con, (symptom,), until=until).jobs.filter(~pl.col("came_back"))
        times = minutes_that_held(con, symptom, until=until)
        for (kind,), jobs in held.group_by("unit_type", maintain_order=True):
            if kind in known["unit_type"] and jobs_in(jobs) >= THRESHOLD:
                took = times.filter(pl.col("unit_type") == kind)
                entry = _entry(str(kind), symptom, jobs, took, names=names, table=table)
                entries += [entry] if entry else []
    if not entries:
        raise CannotAnswerError(
            f"There is nothing for a pocket sheet: no fix of a symptom held in {THRESHOLD} jobs or more. Make one when the log has grown."
        )
    return Pocket(sorted(entries, key=lambda entry: (-entry["jobs"], entry["kind"], entry["symptom"])), until)


class _Names:
    """Names that may be shown: of listed parts, of words that the vocabulary knows; else the number alone."""

    def __init__(self, con: duckdb.DuckDBPyConnection, folder: Path | None) -> None:
        self.con = con
        words = vocabulary(folder)
        self.parts = words["part_name"]
        self.outside = frozenset().union(*(each.outside for each in words.values()))
        rows = con.execute("select part_key from tables.parts where is_listed").fetchall()
        self.listed = {key for (key,) in rows}

    def of(self, subjects: list[str]) -> dict[str, list[tuple[str | None, str]] | None]:
        """Number and name of each part of each subject; None where one of them may not be shown."""
        called = part_names(
            self.con, sorted({key for subject in subjects for key in subject.split(TOGETHER)})
        )
        return {subject: self._shown(subject, called) for subject in subjects}

    def _shown(
        self, subject: str, called: Mapping[str, tuple[str | None, str]]
    ) -> list[tuple[str | None, str]] | None:
        found: list[tuple[str | None, str]] = []
        for key in subject.split(TOGETHER):
            number, name = called[key]
            if key.startswith(OUTSIDE):
                if name not in self.outside:
                    return None
                name = f"outside the machine: {name}"
            elif key not in self.listed and self.parts.meaning(name) is None:
                if number is None:
                    return None
                name = number
            found.append((number, name))
        return found


def _entry(
    kind: str, symptom: str, jobs: pl.DataFrame, took: pl.DataFrame, *, names: _Names, table: CheckTable
) -> dict[str, Any] | None:
    named = names.of(jobs["subject"].unique().sort().to_list())
    shown = _protected(_cells(jobs))
    fixes = _fixes_of(shown)
    parts = [
        _part(found, took.filter(pl.col("subject") == subject), fixes[subject])
        for subject, found in named.items()
        if found is not None and subject in fixes
    ]
    parts = sorted(parts, key=lambda part: (-part["jobs"], part["name"]))
    if not parts:
        return None
    models = [
        {"model": model, "parts": _of_model(model, named, shown)}
        for model in sorted({cell[2] for cell in shown if cell[0] == "part of model"})
        if model != MODEL_NOT_KNOWN
    ]
    return {
        "kind": kind,
        "symptom": symptom,
        # What is printed adds up to this; the jobs behind small counts are not in it, so that nobody can take it away.
        "jobs": sum(part["jobs"] for part in parts),
        "parts": parts,
        "models": [model for model in models if model["parts"]],
        "checks": _checks(kind, symptom, named, fixes, table),
        "minutes": _minutes(took),
    }


Cell = tuple[str, ...]  # (): all; ("part", p); ("fix", p, action); ("model", m); ("part of model", p, m)


def _cells(jobs: pl.DataFrame) -> dict[Cell, int]:
    counts: dict[Cell, int] = {(): jobs_in(jobs)}
    filled = jobs.with_columns(pl.col("model").fill_null(MODEL_NOT_KNOWN))
    for name, columns in (
        ("part", ["subject"]),
        ("fix", ["subject", "action"]),
        ("model", ["model"]),
        ("part of model", ["subject", "model"]),
    ):
        for *values, count in filled.group_by(columns).agg(pl.col("jobs").sum()).sort(columns).iter_rows():
            counts[name, *values] = int(count)
    return counts


def _protected(cells: Mapping[Cell, int]) -> dict[Cell, int]:
    """Cells that may be shown, rounded."""
    order = list(cells)
    place = {cell: at for at, cell in enumerate(order)}

    def sums_to(total: Cell, parts: list[Cell]) -> Sum:
        return Sum(place[total], tuple(place[cell] for cell in parts))

    found: dict[tuple[str, int, str], list[Cell]] = defaultdict(list)
    for name, *values in filter(None, order):
        for at, value in enumerate(("", *values)):
            found[name, at, value].append((name, *values))

    def those(name: str, at: int = 0, value: str = "") -> list[Cell]:
        return found[name, at, value]

    sums = [sums_to((), those("part")), sums_to((), those("model"))]
    for cell in those("part"):
        sums.append(sums_to(cell, those("fix", 1, cell[1])))
        sums.append(sums_to(cell, those("part of model", 1, cell[1])))
    sums += [sums_to(cell, those("part of model", 2, cell[1])) for cell in those("model")]
    counts = np.array([cells[cell] for cell in order], dtype=np.int64)
    # Totals are not printed, so that a count left out cannot be had by taking away.
    never = [at for at, cell in enumerate(order) if not cell or cell[0] in ("part", "model")]
    shown, printed = publishable(counts, sums, never=never), rounded(counts)
    return {cell: int(printed[at]) for at, cell in enumerate(order) if shown[at]}


def _fixes_of(shown: Mapping[Cell, int]) -> dict[str, dict[str, int]]:
    """Printed jobs by subject and action; a subject's jobs are what its printed actions add up to."""
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for cell, count in shown.items():
        if cell and cell[0] == "fix":
            found[cell[1]][cell[2]] = count
    return found


def _part(
    found: list[tuple[str | None, str]], took: pl.DataFrame, actions: Mapping[str, int]
) -> dict[str, Any]:
    told = [
        {"action": action, "jobs": count, "minutes": _minutes(took.filter(pl.col("action") == action))}
        for action, count in actions.items()
    ]
    return {
        "name": " with ".join(_label(number, name) for number, name in found),
        "jobs": sum(actions.values()),
        "actions": sorted(told, key=lambda action: (-action["jobs"], action["action"])),
    }


def _label(number: str | None, name: str) -> str:
    return f"{name} {number}" if number and number != name else name


def _of_model(
    model: str, named: Mapping[str, list[tuple[str | None, str]] | None], shown: Mapping[Cell, int]
) -> list[dict[str, Any]]:
    found = [
        {"name": " with ".join(_label(number, name) for number, name in parts), "jobs": shown[cell]}
        for subject, parts in named.items()
        if parts is not None and (cell := ("part of model", subject, model)) in shown
    ]
    return sorted(found, key=lambda part: (-part["jobs"], part["name"]))


def _minutes(took: pl.DataFrame) -> list[int] | None:
    """Median and 80th percentile to five minutes; of ten jobs or more alone."""
    known = minutes_in(took)
    if known.size < THRESHOLD:
        return None
    return [
        max(ROUNDED_TO, ROUNDED_TO * round(float(end) / ROUNDED_TO)) for end in np.quantile(known, [0.5, 0.8])
    ]


def _checks(
    kind: str,
    symptom: str,
    named: Mapping[str, list[tuple[str | None, str]] | None],
    fixes: Mapping[str, Mapping[str, int]],
    table: CheckTable,
) -> list[dict[str, str]]:
    """The order of checks as the printed counts give it, so that it tells nothing that they do not."""
    parts = [(subject, found) for subject, found in named.items() if found and subject in fixes]
    counts = [sum(fixes[subject].values()) for subject, _ in parts]
    rows = [
        {
            "part_no": TOGETHER.join(number or "" for number, _ in found),
            "part_name": TOGETHER.join(name for _, name in found),
            "count": count,
        }
        for (_, found), count in zip(parts, counts, strict=True)
    ]
    understood = Understood((symptom,), kind, None, None, ())
    counted = Fixes(
        [*rows, {"of": sum(counts)}],
        tuple(subject for subject, _ in parts),
        np.array([*counts, float(ROUNDED_TO)]),
        Levels.of(_no_jobs(), understood),
        date.max,
        0,
    )
    order = check_order(counted, table, kind)
    steps = [
        {
            "text": f"{step.part_name}: {step.check}" if step.part_name else step.check,
            "more": "; ".join(filter(None, [step_minutes(step), STAGES.get(step.stage, "")])),
        }
        for step in order.steps
    ]
    if order.licensed:
        steps.append(
            {"text": f"For licensed people: {', '.join(order.licensed)}", "more": "not in this order"}
        )
    return steps


def _no_jobs() -> pl.DataFrame:
    texts = dict.fromkeys(("unit_type", "model", "fault_code", "subject", "action"), pl.String)
    return pl.DataFrame(schema={**texts, "weight": pl.Float64, "came_back": pl.Boolean})
