"""The list of words to settle: written to be filled in, and read again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.errors import MendstatError, UnreadableError
from pipeline.filled_list import filled_lines, write_list_file
from pipeline.intake.source import Source
from pipeline.settle.proposing import Proposal, ToSettle, words_to_settle
from pipeline.store.folder import Store

HEADER = ("column", "words", "lines", "jobs", "proposed", "confidence", "or_else", "meaning")
NEEDED = ("column", "words", "proposed", "meaning")
YES, OWN = "yes", "own"
SHOWN = 25
_WIDTHS = (12, 40, 9, 9, 28, 11, 40, 28)  # characters, in a workbook
_NO_LIST = (
    "{path} is no list of words to settle: it has no column {column}. "
    "Write one with `mendstat settle --output FILE` and fill in its column meaning."
)
HOW = (
    f"Fill in the column meaning ({YES}: as proposed; {OWN}: a meaning of its own; or the meaning itself; empty: "
    "later), then: mendstat settle {path}"
)


@dataclass(frozen=True)
class Given:
    """One line of the list: where it stands, the word, what was proposed, what was filled in (empty for nothing)."""

    line: int
    column: str
    words: str
    proposed: str
    meaning: str


def frame_of(found: ToSettle) -> pl.DataFrame:
    """The words with their proposals as rows: column, words, lines, jobs, proposed, confidence (0 to 1), or_else."""
    names = dict(
        zip(
            HEADER[:-1],
            (pl.String, pl.String, pl.Int64, pl.Int64, pl.String, pl.Float64, pl.String),
            strict=True,
        )
    )
    return pl.DataFrame([_row(proposal) for proposal in found.proposals], schema=names, orient="row")


def _row(proposal: Proposal) -> tuple[object, ...]:
    word, meanings = proposal.word, proposal.meanings
    first, chance = meanings[0] if meanings else (None, None)
    others = " | ".join(meaning for meaning, _chance in meanings[1:]) or None
    return (
        *(word.column, word.words, word.lines, word.jobs, first),
        *(None if chance is None else round(chance, 2), others),
    )


def found_in(store: Store) -> ToSettle:
    """Words that wait in a store's build."""
    with store.connect() as con:
        return words_to_settle(con, store.vocabulary)


def write_list(found: ToSettle, path: Path) -> None:
    """
    Write the list.

    Raises
    ------
    UnreadableError
        If the file cannot be written, or holds meanings that somebody filled in.
    """
    if path.exists() and _has_meanings(path):
        raise UnreadableError(
            f"{path} holds meanings that were filled in. Take them with `mendstat settle {path}` first, or name "
            "another file with --output."
        )
    rows = [(*row, "") for row in frame_of(found).iter_rows()]
    write_list_file(path, "to settle", HEADER, rows, _WIDTHS)


def read_list(source: Source) -> list[Given]:
    """
    Lines of a list; see `pipeline.filled_list.filled_lines`.

    Raises
    ------
    UnreadableError
        If it cannot be read, or is no list of words to settle.
    """
    found = (Given(line, *cells) for line, cells in filled_lines(source, NEEDED, _NO_LIST))
    return [given for given in found if given.column or given.words or given.meaning]


def _has_meanings(path: Path) -> bool:
    try:
        return any(given.meaning for given in read_list(Source(path)))
    except MendstatError:
        return True


def told(found: ToSettle) -> list[str]:
    """Sentences about the words that wait."""
    if not found.total:
        return ["No word of the log waits to be settled."]
    sentences = [
        f"{_counted(found.total, 'word')} or phrases without a settled meaning, in {_counted(found.lines, 'line')}."
        if found.total > 1
        else f"1 word or phrase without a settled meaning, in {_counted(found.lines, 'line')}."
    ]
    if len(found.proposals) < found.total:
        sentences.append(f"The {len(found.proposals):,} in most jobs are listed.")
    if found.tried:
        sentences.append(
            "Tried on the words that are settled, each left out in turn, the first proposal was right for "
            f"{found.right / found.tried:.0%} of {found.tried:,.0f}. The confidence is meant so too: of ten proposals at 0.8, "
            "about eight are right, where the word is one of the known meanings at all."
        )
    return sentences


def _counted(many: int, what: str) -> str:
    return f"{many:,} {what}" if many == 1 else f"{many:,} {what}s"
