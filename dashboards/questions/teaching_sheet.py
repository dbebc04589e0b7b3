"""A procedure as a teaching sheet: its commonest symptom that comes back leads to what holds and to the order of checks."""

from __future__ import annotations

from typing import Any

from dashboards import words
from dashboards.data import Fleet
from dashboards.questions.holding import counts, label
from dashboards.questions.procedure_told import points
from dashboards.questions.usual_fixes import by_subject
from pipeline.measures.check_words import step_minutes
from pipeline.measures.procedure_detail import ProcedureDetail
from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import TOGETHER
from pipeline.measures.symptom_words import Case
from pipeline.training.sheet import Sheet, sheet_page
from pipeline.vocabulary.cautions import for_work

MOST = 4
# Of what a trainer reads, what belongs on a sheet for everybody.
_ON_THE_SHEET = ("Which symptoms", "When", "After which checks", "Was it another part?")


def sheet_of(fleet: Fleet, row: dict[str, Any]) -> bytes:
    """The sheet as a file."""
    detail = fleet.trainers_book().detail(row)
    kind, symptom = row["unit_type"], worst_symptom(detail)
    fixes = _fixes(fleet, kind, symptom)
    holds: list[str] = []
    steps: list[str] = []
    if fixes is not None:
        holds = [_held(fixes, at) for at in range(min(MOST, len(by_subject(fixes))))]
        order = fleet.check_order(fixes, kind)
        steps = [
            f"{words.capital(step.part_name) + ': ' if step.part_name else ''}{step.check} ({step_minutes(step)})"
            for step in order.steps
        ]
    told = dict(points(row, detail))
    wrong = [
        words.capital(counts(row)),
        *(
            f"{name} {told[name]}" if name.endswith("?") else f"{name}: {told[name]}"
            for name in _ON_THE_SHEET
            if told.get(name)
        ),
    ]
    sheet = Sheet(
        title=f"{words.capital(label(row))}{f' — {symptom}' if symptom else ''}",
        cautions=for_work(kind, [row["part_name"] or ""], [row["action"]]),
        wrong=wrong,
        holds=holds,
        steps=steps,
        rests_on=(
            f"From the firm's own log, {words.window(row)}: jobs that ended fixed on known machines, followed for up to 90 days. Usual is the "
            "middle of the other procedures in which the same was done. Local codes and licensed people come first."
        ),
    )
    return sheet_page(sheet).encode()


def worst_symptom(detail: ProcedureDetail) -> str:
    """The symptom under which most of them came back; none where none is known."""
    known = [split for split in detail.symptoms if split.back and split.name != "symptom not recorded"]
    return max(known, key=lambda split: (split.back, split.name)).name if known else ""


def _fixes(fleet: Fleet, kind: str, symptom: str) -> Fixes | None:
    if not symptom:
        return None
    read = fleet.understand(Case(symptom, kind))
    # A danger gets no likely part, on paper as little as on a screen.
    if read.understood is None or read.understood.dangers:
        return None
    return fleet.fixes(read.understood).fixes


def _held(fixes: Fixes, at: int) -> str:
    subject, rows = by_subject(fixes)[at]
    done = "; ".join(f"{_done(row['action'])} {row['count']} of {row['of']}" for row in rows[:2])
    return f"{words.capital(subject.label)}: {done}"


def _done(action: str) -> str:
    return " and ".join(words.DONE.get(one, one) for one in str(action).split(TOGETHER))
