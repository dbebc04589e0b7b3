"""A column whose text is the whole record of a visit, as in a notebook, and what its sections are."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.intake.layouts import RecordText
from pipeline.recognition.columns import Column
from pipeline.recognition.deciding import Reading, read_columns
from pipeline.recognition.known_words import KnownWords

WORDS_OF_A_RECORD = 8.0  # a cell, in the mean
# "Complaint: …": a word or a few with a colon behind them, where a sentence begins.
_OPENING = re.compile(r"(?:^|(?<=[.!?;\n])\s*)([^\W\d_][\w /-]{1,24}?)\s*:(?=\s|$)")
FEWEST_SECTIONS, FEWEST_SHARE = 2, 0.04
# What running text without sections is read for, where no column says it.
WHOLE = ("unit_type", "symptom", "finding", "action", "part_name", "outcome")
FEW_COLUMNS = 5


@dataclass(frozen=True)
class TextOfRecord:
    """The column, what is read from it, and what its sections were taken for."""

    column: Column
    record: RecordText
    sections: tuple[Reading, ...]


def record_of(columns: Sequence[Column], words: KnownWords) -> TextOfRecord | None:
    """The text that is the whole record, if a file has one."""
    long = [column for column in columns if column.header and column.words >= WORDS_OF_A_RECORD]
    if not long:
        return None
    column = max(long, key=lambda each: each.words * each.filled)
    others = [each for each in columns if each is not column]
    sections = _sections(column, others, words)
    if sections:
        told = {reading.column.header: _columns_of(reading, words) for reading in sections}
        record = RecordText(column.header, {word: names for word, names in told.items() if names})
        return TextOfRecord(column, record, sections) if record.sections else None
    filled = [each for each in columns if each.filled]
    if len(filled) > FEW_COLUMNS:
        return None
    said = {
        reading.target for reading in read_columns([each for each in filled if each is not column], words)
    }
    wanted = tuple(name for name in WHOLE if name not in said and words.told(name, column) > 0.05)
    return TextOfRecord(column, RecordText(column.header, {}, wanted), ()) if len(wanted) > 2 else None


def _sections(column: Column, others: Sequence[Column], words: KnownWords) -> tuple[Reading, ...]:
    """Sections as columns of their own, read beside the other columns of the file."""
    found: Counter[str] = Counter()
    for text, count in zip(column.texts, column.counts, strict=True):
        found.update(dict.fromkeys(_OPENING.findall(text), count))
    often = [word for word, count in found.most_common(40) if count >= FEWEST_SHARE * column.filled]
    if len(often) < FEWEST_SECTIONS:
        return ()
    told = [_told(text, set(often)) for text in column.texts]
    cells = {word: [""] * column.rows for word in often}
    for row, code in enumerate(column.codes.tolist()):
        if code >= 0:
            for word, text in told[code].items():
                cells[word][row] = text
    first = max((each.position for each in others), default=0) + column.position + 1
    parts = [Column(first + n, word, cells[word]) for n, word in enumerate(often)]
    return tuple(reading for reading in read_columns([*others, *parts], words) if reading.column in parts)


def _told(text: str, words: set[str]) -> dict[str, str]:
    """What stands under each word of a text."""
    openings = [match for match in _OPENING.finditer(text) if match.group(1) in words]
    ends = [*(match.start() for match in openings[1:]), len(text)]
    told: dict[str, str] = {}
    for match, end in zip(openings, ends, strict=True):
        said = text[match.end() : end].strip()
        # The last section goes on into sentences that belong to none.
        told.setdefault(match.group(1), re.split(r"[.!?](?:\s|$)|\n", said)[0].strip())
    return told


def _columns_of(reading: Reading, words: KnownWords) -> tuple[str, ...]:
    """Standard columns read from a section: a section of works names parts and their numbers too."""
    if not reading.is_used or reading.target == "note":
        return ()
    if reading.target != "action":
        return (reading.target,)
    parts = words.told("part_name", reading.column) > 0.1
    numbers = (
        reading.column.share(
            lambda text: re.search(r"\b(?=\w*-?\w*\d)[A-Z]{1,4}[- ]?\d{3,}|\b\d{5,}\b", text)
        )
        > 0.1
    )
    return ("action", *(("part_name",) if parts else ()), *(("part_no",) if numbers else ()))
