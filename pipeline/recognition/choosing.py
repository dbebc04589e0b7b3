"""A proposed layout changed by a person: what each column is, and answers to questions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from pipeline.draft_layout import Answer, Question, draft, with_answer
from pipeline.errors import CannotAnswerError
from pipeline.intake.layout_files import read_layout
from pipeline.intake.layouts import Layout
from pipeline.recognition.clues import KINDS
from pipeline.recognition.proposing import MEANS
from pipeline.recognition.recognising import Recognised
from pipeline.recognition.rows_read import read_rows
from pipeline.recognition.sampling import throwaway_key
from pipeline.store.folder import Store

# What may be made from several columns: which machine, site or person it was, and a moment of its day and its time.
FROM_SEVERAL = ("identity", "moment")
LEFT_OUT = ""


@dataclass(frozen=True)
class Chosen:
    """A layout's text as a person chose it, the first rows as they would be read by it, and what is still open."""

    text: str
    rows: pl.DataFrame
    questions: tuple[Question, ...]


def proposed_choices(found: Recognised) -> dict[int, str]:
    """By position of a column the standard column that is proposed for it; "" where it is left out."""
    if found.proposal is None:
        return {}
    made = {header: name for name, headers in found.proposal.layout.columns.items() for header in headers}
    return {
        reading.column.position: made.get(reading.column.header, LEFT_OUT)
        for reading in found.proposal.readings
        if reading.target != "record"
    }


def choices() -> dict[str, str]:
    """What a column can be, in words, by standard column."""
    return {LEFT_OUT: "left out", **{name: MEANS[name] for name in KINDS}}


def choose(found: Recognised, wanted: Mapping[int, str], answers: Sequence[Answer], store: Store) -> Chosen:
    """
    Change what is proposed.

    Parameters
    ----------
    found : Recognised
        A file without a layout.
    wanted : mapping of int to str
        By position of a column the standard column it is; "" to leave it out.
    answers : sequence of Answer
        To questions that were open.
    store : Store
        Whose words are known.

    Raises
    ------
    CannotAnswerError
        If two columns are said to be what only one can be.
    """
    if found.proposal is None or found.sample is None:
        raise CannotAnswerError(f"{found.file} has a layout already: there is nothing to choose.")
    layout = _layout(found, wanted)
    text = draft(found.layout_name, layout, found.sample.header.names, ())
    for answer in answers:
        text = with_answer(text, answer)
    read = read_rows(found.sample, read_layout(text, found.layout_name), throwaway_key(), store.vocabulary)
    return Chosen(text, read.shown, read.questions)


def _layout(found: Recognised, wanted: Mapping[int, str]) -> Layout:
    assert found.proposal is not None  # noqa: S101  as `choose` made sure
    assert found.sample is not None  # noqa: S101
    headers = found.sample.header.names
    said: dict[str, tuple[str, ...]] = {}
    for position, name in sorted(wanted.items()):
        if name != LEFT_OUT:
            said[name] = (*said.get(name, ()), headers[position].strip())
    for name, made in said.items():
        if len(made) > 1 and KINDS[name] not in FROM_SEVERAL:
            raise CannotAnswerError(f"Only one column can be {MEANS[name]}, but {len(made)} are said to be.")
    proposed = found.proposal.layout
    # What was proposed keeps its order: a day stands before its time.
    columns = {
        name: made if set(made) != set(proposed.columns.get(name, ())) else proposed.columns[name]
        for name, made in said.items()
    }
    kept = {name: value for name, value in proposed.constants.items() if name not in columns}
    return replace(
        proposed,
        columns=columns,
        constants=kept,
        missing={name: words for name, words in proposed.missing.items() if name in columns},
        forms={name: form for name, form in proposed.forms.items() if name in columns},
        split=tuple(name for name in proposed.split if name in columns or name in _told(proposed))
        if proposed.split
        else (),
        technician_from="" if "technician" in columns else proposed.technician_from,
    )


def _told(layout: Layout) -> frozenset[str]:
    return layout.record.all_columns if layout.record else frozenset()
