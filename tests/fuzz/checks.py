"""What must hold of every mutated file."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter

from pipeline.errors import CannotAnswerError
from tests.fuzz.taking import Outcome

LONGEST_SENTENCE = 12_000
# What no user should ever read.
INSIDES = re.compile(
    r"Traceback|Exception|\bError\b|duckdb|polars|pyarrow|arrow::|calamine|fastexcel|NoneType|object at 0x|<class|"
    r"Binder|Conversion|Invalid Input|\.py\b|line \d+, in "
)
FATES = {"used", "repeated", "replaced", "set aside"}


def what_is_wrong(outcome: Outcome) -> list[str]:
    """Everything about an outcome that must not be, in words."""
    return list(_of_a_refusal(outcome)) if outcome.refused is not None else list(_of_a_load(outcome))


def _of_a_refusal(outcome: Outcome):
    case, said = outcome.case, str(outcome.refused)
    if INSIDES.search(said):
        yield f"shows its insides: {said[:500]}"
    if any(unicodedata.category(sign) in ("Cc", "Cf", "Cs") and sign != "\n" for sign in said):
        yield f"holds signs that a terminal obeys: {said[:500]!r}"
    # Lines to choose from stand indented below the sentences.
    sentences = [line for line in said.splitlines() if line and not line.startswith(" ")]
    is_cut = not sentences or not any(sign in sentences[-1][-300:] for sign in ".?")
    if not said[:1].strip() or len(said) > LONGEST_SENTENCE or is_cut:
        yield f"is no sentence: {said[:500]!r}"
    if shown := sorted(mark for mark in case.sample.people if mark in said):
        yield f"shows a person ({shown}): {said[:800]}"
    is_question = isinstance(outcome.refused, CannotAnswerError)
    if is_question and not case.may_ask:
        yield f"asks, although header and most rows are as they were: {said[:800]}"
    if not is_question and not case.may_be_refused:
        yield f"refuses a file of which only cells were mutated: {said[:500]}"


def _of_a_load(outcome: Outcome):
    case = outcome.case
    if outcome.fates is None:
        if case.rows is not None and outcome.received != case.rows:
            yield f"received {outcome.received} rows of a file that has {case.rows}"
        return
    if outcome.received == 0 and not outcome.fates:
        if case.rows:
            yield f"kept nothing of {case.rows} rows"
        return
    counts = Counter(fate for fate, _, _ in outcome.fates.values())
    if not counts.keys() <= FATES or counts.total() != outcome.received:
        yield f"received {outcome.received}, but {dict(counts)}"
    if sorted(outcome.fates) != list(range(1, outcome.received + 1)):
        yield "records are not numbered through"
    if case.rows is not None and outcome.received != case.rows:
        yield f"received {outcome.received} rows of a file that has {case.rows}"
    if case.touched is not None and case.rows == outcome.received and not case.is_column_touched:
        aside = {
            n: fate for n, fate in outcome.fates.items() if fate[0] == "set aside" and n not in case.touched
        }
        if aside:
            yield f"set aside although untouched: {dict(list(aside.items())[:5])}"
