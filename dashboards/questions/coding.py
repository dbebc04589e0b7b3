"""Are things still called the same? Words that came into use or fell out of it."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told

IN_SIGHT = 6


def render(fleet: Fleet) -> None:
    """Draw the question, where there is a log."""
    files = [file for file in fleet.files() if file["kind"] == "log"]
    if not files:
        return
    found = [change for file in files for change in file.get("coding_drift") or ()]
    blocks.ask("Are things still called the same?")
    blocks.answer(tell(found))
    blocks.points(*(said(change) for change in found[:IN_SIGHT]))
    if found[IN_SIGHT:]:
        with st.expander(f"The other {len(found) - IN_SIGHT}"):
            blocks.points(*(said(change) for change in found[IN_SIGHT:]))
    blocks.rests_on(
        "Compared: the newest three months of all logs together with the twelve before, job by job, where at least 30 "
        "jobs on each side say anything. Told is a change of at least five in a hundred that chance hardly makes (of "
        "all words of a column together, one false alarm in twenty looks)."
    )
    blocks.what_next(
        "Ask whoever writes the jobs: if the machines have changed, leave it; if only the word has, settle the new word "
        "in the shop's vocabulary, so that old and new count together."
    )


def tell(found: list[dict[str, Any]]) -> Told:
    """How many words changed, in which columns."""
    if not found:
        return Told("As far as can be seen: no word of a column came into use or fell out of it.")
    columns = words.listed(list(dict.fromkeys(change["column"] for change in found)), 6)
    many = words.counted(len(found), "word stands", "words stand")
    return Told(
        f"{many} in the newest jobs much more or much less often than in the year before: {columns}.",
        "Whether the machines changed or only the words, the log cannot say.",
    )


def said(change: dict[str, Any]) -> tuple[str, str]:
    """A change: which word, and its shares as counts."""
    return (
        f"{change['column']}: {change['word']}",
        (
            f"{words.whole(change['jobs'])} of {words.counted(change['of'], 'job', 'jobs')} since {change['since']}, "
            f"{words.whole(change['jobs_before'])} of {words.whole(change['of_before'])} in the year before."
        ),
    )
