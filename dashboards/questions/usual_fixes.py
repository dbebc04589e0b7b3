"""What usually fixes it, and holds? Parts and causes outside the machine, actions beneath, each with its counts."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.words import Told
from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER

FEWEST = 10  # fixes that held before a count says anything
IN_SIGHT = 4
MOST = 40  # parts on a page, folded ones too; a big log names a thousand behind a common symptom, most of them once


def tell(fixes: Fixes) -> Told:
    """The part or cause that fixed most, with its counts where the machine is known best."""
    subjects = by_subject(fixes)
    level, count, of = fixes.counts_by_level(subjects[0][0].key)[0]
    if of < FEWEST:
        held = words.counted(of, "job", "jobs")
        return Told("", f"Too few to say: {held} like this ended fixed and held so far ({level}).")
    share = f" ({words.percent(count / of)})" if of >= words.COUNTS_FIRST_BELOW else ""
    also = ""
    if len(subjects) > 1:
        second = fixes.counts_by_level(subjects[1][0].key)[0][1]
        also = f"; {words.whole(second)}: {_the(subjects[1][0])}" if 2 * second >= count else ""
    return Told(f"{words.whole(count)} of {words.whole(of)} like this{share}: {_the(subjects[0][0])}{also}.")


class Subject:
    """One part, cause outside the machine, or set of works done together."""

    def __init__(self, key: str, row: dict[str, Any]) -> None:
        self.key, self.row = key, row
        self.is_outside = key.startswith(OUTSIDE) and TOGETHER not in key

    @property
    def name(self) -> str:
        """As people call it."""
        name = str(self.row["part_name"]).replace(TOGETHER, " and ")
        return f"outside the machine: {name}" if self.is_outside else name

    @property
    def label(self) -> str:
        """With its number, to tell and to order it by."""
        names = str(self.row["part_name"]).split(TOGETHER)
        numbers = str(self.row["part_no"] or "").split(TOGETHER)
        if self.is_outside or len(numbers) != len(names):
            return self.name
        pairs = zip(names, numbers, strict=True)
        return " with ".join(f"{name} {number if number != name else ''}".strip() for name, number in pairs)


def by_subject(fixes: Fixes) -> list[tuple[Subject, list[dict[str, Any]]]]:
    """Parts and causes in the order of the answer, each with the rows of what was done."""
    found: dict[str, tuple[Subject, list[dict[str, Any]]]] = {}
    for key, row in zip(fixes.keys, fixes.rows[:-1], strict=True):
        found.setdefault(key, (Subject(key, row), []))[1].append(row)
    return list(found.values())


def show(fixes: Fixes) -> None:
    """The list, the rest of it folded."""
    st.subheader("What fixed it, and held", anchor=False)
    subjects = by_subject(fixes)
    items = [_item(fixes, subject, rows) for subject, rows in subjects[:MOST]]
    blocks.fixes(items[:IN_SIGHT], "plain")
    if len(items) > IN_SIGHT:
        with st.expander(f"{words.capital(words.spelled(len(subjects) - IN_SIGHT))} more"):
            blocks.fixes(items[IN_SIGHT:], "plain")
            _left_out(subjects[MOST:])


def _left_out(subjects: list[tuple[Subject, list[dict[str, Any]]]]) -> None:
    if subjects:
        jobs = words.counted(sum(row["count"] for _, rows in subjects for row in rows), "job", "jobs")
        blocks.rests_on(
            f"{words.whole(len(subjects))} more parts and causes, in {jobs} together, are not listed here: mendstat symptom names all."
        )


def rests_on(fixes: Fixes) -> str:
    """Jobs behind the answer, and what it does not cover."""
    last = fixes.rows[-1]
    unproven = sum(row["not_yet_proven"] for row in fixes.rows)
    held = words.counted(last["of"], "job", "jobs")
    parts = [
        f"{held} that ended fixed and have not come back, to {words.day(fixes.levels.of_kind['finished_on'].max())}",
        f"{words.whole(unproven)} of them not yet followed for 90 days" if unproven else "",
        f"something else: about {_one_in(last['probability'])}",
        f"{words.whole(fixes.unlabelled)} more do not say what was done" if fixes.unlabelled else "",
    ]
    return "; ".join(filter(None, parts)) + "."


def working(fixes: Fixes) -> None:
    """Folded: how the chances are worked out, and each of them."""
    cells = [
        [
            f"{row['part_name']}, {words.DONE.get(row['action'], row['action'] or '')}".rstrip(", "),
            words.whole(row["count"]),
            words.whole(row["not_yet_proven"]),
            words.percent(row["probability"]),
            *("–" if row[name] is None else words.percent(row[name]) for name in ("low", "high")),
        ]
        for row in [*fixes.rows[:-1][:MOST], fixes.rows[-1]]
    ]
    blocks.worked_out(
        [
            (
                "Jobs with this symptom that ended fixed, by what was done, without those that came back with the same fault "
                "within 90 days; a job still holding for less counts by its chance of holding on. Works done together are one fix."
            ),
            (
                f"Leaning from coarse to fine ({', '.join(fixes.levels.names)}): where few jobs are known of the finer group, "
                "the coarser one speaks. What was done often is not what is wrong this time: check before you fit."
            ),
        ],
        ["fix", "held", "of them recent, not yet proven", "chance", "likely from", "to"],
        cells,
    )


def _item(fixes: Fixes, subject: Subject, rows: list[dict[str, Any]]) -> tuple[str, str]:
    levels = fixes.counts_by_level(subject.key)
    told = [f"{words.whole(count)} of {words.whole(of)}" for _, count, of in levels]
    if len(levels) > 1:
        told = [f"{counts} ({level})" for counts, (level, _, _) in zip(told, levels, strict=True)]
    return f"{words.capital(subject.label)} · {' · '.join(told)}", "; ".join(_action(row) for row in rows)


def _action(row: dict[str, Any]) -> str:
    done = str(row["action"]).split(TOGETHER)
    said = " and ".join(words.DONE.get(action, action) for action in done)
    counts = words.counts_of({"numerator": row["count"], "denominator": row["of"]})
    minutes = row["hands_on_median_min"]
    time = "" if minutes is None else f", {words.figure(minutes)} min"
    return f"{said} {counts} ({words.likely_share({**row, 'denominator': row['of']})}){time}"


def _the(subject: Subject) -> str:
    return subject.name if subject.is_outside else f"the {subject.name}"


def _one_in(probability: float) -> str:
    if probability >= 0.4:
        return f"{words.figure(probability * 10)} in 10"
    return f"1 in {1 / probability:.0f}" if probability > 0.005 else "1 in 200 or fewer"
