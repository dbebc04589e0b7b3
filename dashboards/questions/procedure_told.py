"""What a trainer needs of one procedure, in words: counts first, nobody named."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from dashboards import words
from pipeline.measures.procedure_detail import ProcedureDetail, Split

FEWEST = 10  # jobs on either side before a comparison is told
MOST = 3
NO_PROOF = ". Counts, no proof: the jobs differ"
LIKE = {
    "unit_type": "kinds of machine",
    "age_band": "ages",
    "make": "makes",
    "symptom": "symptoms",
}
LIKE_JOBS = {
    "unit_type": "against the same work on the same kind of machine",
    "age_band": "on machines of like age",
    "make": "on machines of the same make",
    "symptom": "in jobs with the same symptom",
}
NAMES = {
    "test_run": "test run",
    "leak_check": "leak check",
    "installation_looked_at": "look at the installation",
    "mechanism": "how it failed",
}


def points(row: dict[str, Any], detail: ProcedureDetail) -> list[tuple[str, str]]:
    """Terms with what is to be said of each."""
    told = [
        ("Which symptoms", _splits(detail.symptoms)),
        ("Is it the work, or the jobs it is done on?", total_and_like(row, detail)),
        ("When", when(detail.days)),
        ("After which checks", _splits(detail.checks)),
        (
            "Was it recorded?",
            "; ".join(with_and_without(*both, NAMES[name]) for name, both in detail.recorded.items())
            + NO_PROOF,
        ),
        ("Minutes", _minutes(detail)),
        ("Was it another part?", _another(row, detail)),
        ("Do all do it alike?", _alike(detail)),
    ]
    return [(name, text) for name, text in told if text]


def total_and_like(row: dict[str, Any], detail: ProcedureDetail) -> str:
    """Where the total is worse and like jobs are as usual: with the counts behind it, or nothing."""
    if row.get("like") is None:
        return ""
    split = detail.by.get(row["like"], ())
    counts = f" ({_splits(split)})" if split else ""
    return f"total and {LIKE[row['like']]} disagree: {in_like_jobs(row)}{counts}"


def in_like_jobs(row: dict[str, Any]) -> str:
    """On machines of like age 12 of 40 came back, where 11 would be usual."""
    return (
        f"{LIKE_JOBS[row['like']]} {words.whole(row['like_observed'])} of {words.whole(row['like_jobs'])} came back, where "
        f"{words.figure(row['like_expected'])} would be usual"
    )


def _splits(splits: Sequence[Split]) -> str:
    shown = [f"{split.name}: {split.back} of {words.whole(split.jobs)} came back" for split in splits[:MOST]]
    if len(splits) > MOST:
        rest = splits[MOST:]
        shown.append(
            f"{words.counted(len(rest), 'other', 'others')}: {sum(one.back for one in rest)} of {words.whole(sum(one.jobs for one in rest))}"
        )
    return "; ".join(shown)


def when(days: Sequence[int]) -> str:
    """Half of them by which day, and how many in the first week."""
    if not days:
        return ""
    middle = sorted(days)[(len(days) - 1) // 2]
    week = sum(day <= 7 for day in days)
    return f"half of the returns within {words.counted(middle, 'day', 'days')}; {week} of {len(days)} in the first week"


def with_and_without(done: Split, rest: Split, name: str) -> str:
    """Counts with and without; never called an effect."""
    jobs = done.jobs + rest.jobs
    told = f"{name} in {words.whole(done.jobs)} of {words.whole(jobs)}"
    if min(done.jobs, rest.jobs) < FEWEST:
        return told
    return f"{told} ({done.back} of those came back, {rest.back} of the other {words.whole(rest.jobs)})"


def _minutes(detail: ProcedureDetail) -> str:
    if detail.minutes is None:
        return "not recorded"
    others = (
        ""
        if detail.minutes_of_others is None
        else f"; {words.figure(detail.minutes_of_others)} on others of the same kind of work"
    )
    return f"half took up to {words.figure(detail.minutes)} min{others}"


def _another(row: dict[str, Any], detail: ProcedureDetail) -> str:
    if not detail.back:
        return ""
    undone = f"; the part was taken out again in {detail.taken_out_again}" if detail.taken_out_again else ""
    share = f"in {detail.another_part} of {words.counted(detail.back, 'return', 'returns')} work on another part was the cure within 30 days{undone}"
    if row["band"] == "worse" and row["band_without_another_part"] != "worse":
        return (
            f"{share}. Without those it does not stand out: the diagnosis, rather than the fix, does not hold"
        )
    return share


def _alike(detail: ProcedureDetail) -> str:
    if detail.differs is None:
        return "too few jobs by several people to say"
    if detail.is_done_differently:
        return "no: returns differ more between people than chance lets them, in jobs with the same symptom. Let them show each other"
    return "no difference between people that can be told from chance"
