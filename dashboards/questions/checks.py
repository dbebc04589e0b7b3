"""Do we skip the test run? What the last visit of a job recorded, and the comebacks with and without it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "Do we skip the test run?"
DAYS = 30
SCALE = Scale(f"back with the same fault within {DAYS} days", ".0%", most=1)
# Column of the standard log: what it is called, with it, without it.
CHECKS = {
    "test_run": ("the test run", "test run made", "no test run"),
    "leak_check": ("the check for leaks", "checked for leaks", "not checked for leaks"),
    "installation_looked_at": (
        "the look at the installation",
        "installation looked at",
        "installation not looked at",
    ),
}
NOT_RECORDED = (
    "The log does not say whether a test run, a check for leaks or a look at the installation was made (test_run, "
    "leak_check, installation_looked_at)."
)


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing: one recorded check is an answer."""
    found = _ask(fleet, kind)
    refusals = [answer.refusal for answer in found.values() if answer.refusal]
    if refusals:
        return refusals[0]
    return "" if any(_recorded(check, answer.rows) for check, answer in found.items()) else NOT_RECORDED


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    found = {check: of_kind(answer, kind) for check, answer in _ask(fleet, kind).items()}
    blocks.ask(QUESTION)
    told = tell(found)
    blocks.answer(told)
    choose()
    rows = [(label(check, row), row) for check, rows in found.items() for row in _recorded(check, rows)]
    if rows:
        show_rows(
            [
                Drawn(
                    name, words.share_said(row), row, kept=name.startswith(("no ", "not ")) or " not " in name
                )
                for name, row in rows
            ],
            SCALE,
            told,
        )
        blocks.rests_on(_rests_on(rows[0][1]))
    blocks.worked_out(_how(), *_numbers(found))
    blocks.what_next(
        "Make the test run part of the job and of its price; print it on the job sheet as a box to tick. To know what it "
        "saves, let the same kinds of fix be done with it for three months and compare those only."
    )


def _ask(fleet: Fleet, kind: str | None) -> dict[str, Answer]:
    groups = () if kind is None else ("unit_type",)
    return {
        check: fleet.ask("repeat-visits", by=(*groups, check), days=DAYS, kind="same-fault")
        for check in CHECKS
    }


def _recorded(check: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted((row for row in rows if row[check]), key=lambda row: row[check], reverse=True)


def label(check: str, row: dict[str, Any]) -> str:
    """With it, without it, or not recorded."""
    name, made, not_made = CHECKS[check]
    return {"yes": made, "no": not_made}.get(row[check], f"{name}: not recorded")


def tell(found: dict[str, list[dict[str, Any]]]) -> Told:
    """How many fixed jobs have each check recorded."""
    said, silent = [], []
    for check, rows in found.items():
        name = CHECKS[check][0]
        of = sum(row["denominator"] for row in rows)
        made = sum(row["denominator"] for row in rows if row[check] == "yes")
        if any(row[check] for row in rows):
            said.append(f"{name} in {words.whole(made)} of {words.whole(of)}")
        else:
            silent.append(name)
    nothing = f" Not recorded at all: {words.listed(silent)}." if silent else ""
    return Told(
        f"Of the fixed jobs, these have it recorded: {words.listed(said)}.",
        "Whether it keeps machines from coming back cannot be told from this: the check is made on some faults and not on "
        f"others.{nothing}",
    )


def _rests_on(row: dict[str, Any]) -> str:
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    return (
        "Lines: likely range (95 %). Square: without the check. Jobs that ended fixed, by what their last visit records, "
        f"{words.window(row)}, each followed for up to {DAYS} days. Not compared like with like.{note}"
    )


def _how() -> list[str]:
    return [
        (
            "Of each job that ended fixed, the last visit says whether the check was made. Then the machine is followed "
            f"for {DAYS} days to the next report of the same fault."
        ),
        (
            "The two groups are not alike: who checks for leaks has mostly been called for one. A difference here is no "
            "proof that the check helps, and no difference is no proof that it does not."
        ),
    ]


def _numbers(found: dict[str, list[dict[str, Any]]]) -> tuple[list[str], list[list[str]]]:
    header = ["check", "back", "fixed jobs", "share", "likely from", "to"]
    cells = []
    for check, rows in found.items():
        for row in rows:
            share = "too few" if row["value"] is None else words.percent(row["value"], 1)
            counts = [words.whole(row[name]) for name in ("numerator", "denominator")]
            cells.append(
                [
                    label(check, row),
                    *counts,
                    share,
                    words.percent(row["low"], 1),
                    words.percent(row["high"], 1),
                ]
            )
    return header, cells
