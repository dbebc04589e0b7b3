"""How do we know which machine it was, and how many rows make a job?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.questions.gaps import Filled, bar_block
from dashboards.words import Told
from pipeline.log_check.costs import UNKNOWN

RUNGS = {
    "unit_id": "by its own number",
    "make + serial": "by make and serial number",
    "site + type + model, assumed": "by address, kind and model",
    "site + type, assumed": "by address and kind",
    "assumed, several": "one of several at the address",
    "none": "not known",
}
ASSUMED = ("site + type + model, assumed", "site + type, assumed")


def render(fleet: Fleet) -> None:
    """Draw the question."""
    files = fleet.files()
    rungs = counts(files, "rungs", "rung")
    if not rungs:
        return
    blocks.ask("How sure is it which machine a job was on?")
    blocks.answer(tell(rungs))
    jobs = sum(rungs.values())
    for rung in sorted(rungs, key=lambda name: list(RUNGS).index(name) if name in RUNGS else len(RUNGS)):
        mark = "assumed" if rung in ASSUMED else ""
        st.html(bar_block(RUNGS.get(rung, rung), mark, Filled(rungs[rung], jobs, "jobs")))
    rules = counts(files, "joined", "rule")
    made = ", ".join(f"{rule} {words.whole(many)}" for rule, many in rules.items())
    blocks.rests_on(
        "Assumed: in a household with one machine of that kind, every job on that kind is taken to be on that one. "
        f"What brought rows together as one job: {made}."
    )
    blocks.what_next(
        "Write the machine's own number, or make and serial number, on every job: one sticker on each machine does it."
    )


def counts(files: Sequence[dict[str, Any]], name: str, key: str) -> dict[str, int]:
    """Jobs of all logs together, most first."""
    found: dict[str, int] = {}
    for file in files:
        for row in file.get(name, ()):
            found[row[key]] = found.get(row[key], 0) + row["jobs"]
    return dict(sorted(found.items(), key=lambda each: (-each[1], each[0])))


def tell(rungs: dict[str, int]) -> Told:
    """How many jobs are on a machine known by number, by assumption, or on none."""
    jobs = sum(rungs.values())
    assumed = sum(rungs.get(rung, 0) for rung in ASSUMED)
    unknown = sum(rungs.get(rung, 0) for rung in UNKNOWN)
    known = jobs - assumed - unknown
    sure = f"{words.whole(known)} of {words.counted(jobs, 'job', 'jobs')} are on a machine known by a number."
    parts = []
    if assumed:
        parts.append(f"{words.counted(assumed, 'is', 'are')} on one that is assumed from the address")
    if unknown:
        parts.append(f"of {words.whole(unknown)} nobody can say which machine it was")
    return Told(sure, f"{'; '.join(parts)}.".capitalize() if parts else "")
