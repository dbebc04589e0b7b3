"""
One text that is the whole record, read in sections; what it is not read for is dropped.

A section opens with its word at the start of a sentence or a line, or anywhere with a colon behind it, and ends where
another opens or at a blank line. Of a section a word column keeps known words, a part number what can be one, a date or
an amount what belongs to one, an identity a pseudonym. A text column keeps the first words of its section, scrubbed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.intake.layouts import RecordText
from pipeline.intake.notes import NoteReader
from pipeline.intake.record_works import COLUMNS as WORK_COLUMNS
from pipeline.intake.record_works import WorkReader
from pipeline.normalise.works import WORKED
from pipeline.standard_log import LOG, Column
from pipeline.vocabulary import Words, normal_form

WHOLE = ""  # name of the section that is the whole text
SEVERAL = "; "
# Three signs of the trade that mean one thing in running text; other words of three letters mean too many.
SHORT_TERMS = frozenset(
    ("n/d", "n/h", "n/f", "n/s", "nff", "ntf", "ber", "o/o", "pcb", "ntc", "d/w", "w/m", "t/d", "f/f", "w/d")
)
SHORTEST_TERM = 4
# In running text these say how something stood, not how the visit ended.
NOT_IN_RUNNING_TEXT = {"outcome": "open"}
LONGEST_TEXT = 40
_OPEN, _CLOSE = "\x02", "\x03"
_BLANK_LINE = r"\n[ \t]*\n"
_KINDS = {column.name: column for column in LOG}


@dataclass(frozen=True)
class KnownWords:
    """
    Words a record is read for.

    Attributes
    ----------
    words : mapping of str to Words
        By column.
    values : mapping of str to mapping
        What the layout says about its own file's words, by column.
    """

    words: Mapping[str, Words]
    values: Mapping[str, Mapping[str, str]]

    def meaning(self, column: str, term: str) -> str | None:
        """What a known term means."""
        own = {normal_form(word): meaning for word, meaning in self.values.get(column, {}).items()}
        words = self.words.get(column)
        return own.get(normal_form(term)) or (words.meaning(normal_form(term)) if words else None)

    def terms(self, column: str) -> tuple[str, ...]:
        """Ways of writing of a column that running text is read for."""
        words = self.words.get(column)
        known = {*words.standard, *words.other} if words else set()
        own = {word for word in self.values.get(column, {}) if word.strip()}
        dropped = NOT_IN_RUNNING_TEXT.get(column)
        return tuple(
            sorted(
                term
                for term in known | own
                if (len(term) >= SHORTEST_TERM or term in SHORT_TERMS or term in own)
                and (term in own or self.meaning(column, term) != dropped)
            )
        )

    @property
    def all_terms(self) -> tuple[str, ...]:
        """Every term with its column, for the reading hash."""
        return tuple(f"{column}={term}" for column in sorted(self.words) for term in self.terms(column))


class RecordReader:
    """
    Reads the standard columns of a record out of its text.

    Parameters
    ----------
    record : RecordText
        Which sections there are and what is read from them.
    vocabulary : KnownWords
        Known words.
    """

    def __init__(self, record: RecordText, vocabulary: KnownWords) -> None:
        self.vocabulary = vocabulary
        self._columns = dict(record.sections) | ({WHOLE: record.columns} if record.columns else {})
        self._words = {
            word: r"\s+".join(re.escape(each) for each in word.rstrip(": ").split())
            for word in record.sections
        }
        words = "|".join(sorted(self._words.values(), key=len, reverse=True))
        # The boundary is that of ASCII: one of Unicode would cost ten times as much.
        self._opening = (
            rf"(?i)(^\s*|[.!?]\s+|\n\s*)({words})(?:\s*:|(?-u:\b))|(^|\W)({words})\s*:" if words else ""
        )
        self._readers = {
            column: NoteReader(vocabulary.terms(column))
            for column in record.all_columns - set(WORK_COLUMNS)
            if _KINDS[column].kind == "word"
        }
        self._works = {
            section: self._work_reader([column for column in columns if column in WORK_COLUMNS])
            for section, columns in self._columns.items()
        }

    def cells(self, texts: pl.Series) -> dict[str, pl.Series]:
        """
        What stands in the text for each standard column, as if it stood in a cell: still to be made safe by its kind.

        Parameters
        ----------
        texts : series of text
            Whole records.

        Returns
        -------
        dict of str to series of text
            By column; null where the text does not say. A column named by several sections has what the first says.
        """
        found: dict[str, pl.Series] = {}
        for section, text in self._sections(texts).items():
            for column, cells in self._of_section(section, text).items():
                found[column] = _first_said(found.get(column), cells).alias(column)
        return found

    def _work_reader(self, columns: Sequence[str]) -> WorkReader:
        terms = self.vocabulary.terms
        return WorkReader(
            terms("action"),
            terms("part_name"),
            columns,
            lambda term: self.vocabulary.meaning("action", term) in WORKED,
        )

    def _sections(self, texts: pl.Series) -> dict[str, pl.Series]:
        """Text of each section, null where it is not there; what stands before the first belongs to none."""
        text = pl.col("text").str.replace_all(f"[{_OPEN}{_CLOSE}]", " ").str.replace_all(r"\r\n?", "\n")
        if self._words:
            text = text.str.replace_all(self._opening, f"${{1}}${{3}}{_OPEN}${{2}}${{4}}{_CLOSE}")
        parts = text.str.replace_all(_BLANK_LINE, f"{_OPEN}{_CLOSE}").str.split(_OPEN)
        columns = [
            parts.list.eval(_told_under(pattern)).list.join("\n").alias(word)
            for word, pattern in self._words.items()
        ]
        frame = texts.alias("text").to_frame().select(*columns, pl.col("text").alias(WHOLE))
        wanted = [section for section in self._columns if section in frame.columns]
        return {
            section: frame.select(
                pl.when(pl.col(section) != "").then(pl.col(section)).alias(section)
            ).to_series()
            for section in wanted
        }

    def _of_section(self, section: str, text: pl.Series) -> dict[str, pl.Series]:
        works = self._works[section].read(text) if self._works[section].columns else {}
        others = {
            column: self._cell(_KINDS[column], text)
            for column in self._columns[section]
            if column not in WORK_COLUMNS
        }
        return works | others

    def _cell(self, column: Column, text: pl.Series) -> pl.Series:
        if column.kind == "word":
            return self._known(column.name, text)
        first = _first_sentence(text)
        if column.kind == "text":
            return first.str.head(LONGEST_TEXT)
        return first.str.extract(r"([\w/.-]*\d[\w/.-]*)") if column.kind == "number_of_job" else first

    def _known(self, column: str, text: pl.Series) -> pl.Series:
        """
        Known words of a column that holds one, or of symptoms all.

        Of several words with one meaning the first; of several findings too. Where a text says that a visit ended in
        several ways, all of them, which then wait to be settled.
        """
        lists = self._readers[column].each_known(text, negated=False)
        if column == "symptom":
            joined = lists.list.unique(maintain_order=True).list.join(SEVERAL)
        elif column == "outcome":
            joined = lists.list.eval(pl.element().unique(maintain_order=True)).list.join(SEVERAL)
            several = joined.str.contains(SEVERAL, literal=True).fill_null(value=False).arg_true()
            if len(several):
                one = pl.Series([self._one(column, each) for each in joined.gather(several)], dtype=pl.String)
                joined = joined.scatter(several, one)
        else:
            joined = lists.list.first()
        return joined.to_frame().select(pl.when(pl.first() != "").then(pl.first())).to_series()

    def _one(self, column: str, joined: str) -> str:
        terms = joined.split(SEVERAL)
        return terms[0] if len({self.vocabulary.meaning(column, term) for term in terms}) == 1 else joined


def _told_under(pattern: str) -> pl.Expr:
    """What stands under one word, of the parts of a text."""
    word = rf"(?i)^{pattern}{_CLOSE}"
    under = pl.element().filter(pl.element().str.contains(word))
    return under.str.replace(word, "").str.strip_chars()


def _first_said(before: pl.Series | None, cells: pl.Series) -> pl.Series:
    if before is None:
        return cells
    both = pl.DataFrame([before.alias("before"), cells.alias("cells")])
    return both.select(pl.coalesce("before", "cells")).to_series()


def _first_sentence(text: pl.Series) -> pl.Series:
    first = pl.col(text.name).str.extract(r"(?s)^\s*(.*?)(?:[.;!?](?:\s|$)|\n|$)").str.strip_chars()
    return text.to_frame().select(pl.when(first != "").then(first).alias(text.name)).to_series()
