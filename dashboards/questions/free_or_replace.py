"""Free it, or replace it? How often each was back, side by side, and what it pays the owner; safety parts are replaced."""

from __future__ import annotations

from typing import Any

import polars as pl
import streamlit as st

from dashboards import blocks, data, words
from dashboards.data import Fleet
from dashboards.questions import cleaning, money_terms, such_jobs
from dashboards.words import Told
from pipeline.estimators import sample
from pipeline.measures.comparable_jobs import CLEANING
from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER
from pipeline.vocabulary.dangers import is_safety_part

QUESTION = "Free it, or replace it?"
SAFETY = "A safety part: it is replaced, whatever that costs."
NO_HOUR = "What pays the owner needs what an hour of work costs: hour_costs in settings.toml."


def show(fleet: Fleet, fixes: Fixes) -> None:
    """For the likeliest part that was both freed or cleaned, and replaced; nothing where there is none."""
    row = _part(fixes)
    if row is None:
        return
    st.subheader(QUESTION, anchor=False)
    blocks.note_line(f"{words.capital(row['part_name'])}.", _back(fleet, fixes, row))
    blocks.rests_on(_pays(fleet, fixes, row))


def ask(fleet: Fleet, fixes: Fixes) -> None:
    """Ask the log what `show` will ask it."""
    row = _part(fixes)
    if row is not None:
        _returns(fleet, fixes, row)


def _returns(fleet: Fleet, fixes: Fixes, row: dict[str, Any]) -> list[dict[str, Any]]:
    kind = fixes.understood.unit_type
    return such_jobs.of_part(fleet, kind, fixes.understood.symptoms, row) if kind else []


def _part(fixes: Fixes) -> dict[str, Any] | None:
    actions: dict[str, set[str]] = {}
    first: dict[str, dict[str, Any]] = {}
    for key, row in zip(fixes.keys, fixes.rows, strict=False):
        if not key.startswith(OUTSIDE) and TOGETHER not in key:
            first.setdefault(key, row)
            actions.setdefault(key, set()).add(row["action"])
    found = [key for key in first if "replace" in actions[key] and actions[key] & set(CLEANING)]
    return first[found[0]] if found else None


def _back(fleet: Fleet, fixes: Fixes, row: dict[str, Any]) -> str:
    """`Freed 4 of 17 back within 90 days (likely 10 to 47 %); new one fitted 1 of 22; cannot be told apart`."""
    rows = [each for each in _returns(fleet, fixes, row) if each["action"] in (*CLEANING, "replace")]
    if not rows:
        return "How often either came back cannot be said: machines have to be known for that."
    told = [
        f"{words.DONE.get(each['action'], each['action'])}: "
        f"{words.whole(each['numerator'])} of {words.whole(each['denominator'])} back within {such_jobs.DAYS} days "
        f"(likely {words.percent(each['low'])} to {words.percent(each['high'])})"
        for each in rows
    ]
    return f"{words.capital('; '.join(told))}. {_apart(rows)}".strip()


def _apart(rows: list[dict[str, Any]]) -> str:
    """What the counts say of freeing against replacing, unadjusted."""
    new = [row for row in rows if row["action"] == "replace"]
    kept = [row for row in rows if row["action"] != "replace"]
    if not new or not kept:
        return ""
    band = data.compare(max(kept, key=lambda row: row["denominator"]), new[0])
    if band == sample.CANNOT_TELL:
        return "They cannot be told apart yet."
    return f"{'More' if band == sample.WORSE else 'Fewer'} came back of those whose part was kept; unlike machines are mixed in."


def _pays(fleet: Fleet, fixes: Fixes, row: dict[str, Any]) -> str:
    """The owner's three verdicts, kept apart."""
    kind = fixes.understood.unit_type
    if any(is_safety_part(pl.Series([row["part_name"]]))):
        return SAFETY
    if "hour_costs" not in money_terms.chosen(fleet):
        return NO_HOUR
    answer = cleaning.verdicts(fleet, kind)
    if answer.refusal:
        return answer.refusal
    rows = [
        each
        for each in answer.rows
        if each["part_no"] == row["part_no"] and each.get("unit_type", kind) == kind
    ]
    if not rows:
        return "The owner's pay-off: no paid jobs alike in which it was either."
    told: Told = cleaning.tell(rows)
    return f"The owner's pay-off. {told.sure} {told.undecided}".strip()
