"""Free notes: read for known words, then dropped."""

from __future__ import annotations

import polars as pl

from pipeline.vocabulary.dangers import SEVERAL, dangers_of, report_words
from pipeline.vocabulary.in_text import WordFinder


class NoteReader(WordFinder):
    """Reads notes: of each only its known words are left."""

    def known_words(self, notes: pl.Series) -> pl.Series:
        """
        Known words of each note in order of appearance, joined by "; ".

        Parameters
        ----------
        notes : series of text
            Whole notes.

        Returns
        -------
        series of text
            Null where nothing known was found. Nothing else of the note is left.
        """
        words = self.each_known(notes).list.join("; ")
        kept = words.to_frame().select(pl.when(pl.first() != "").then(pl.first())).to_series()
        return with_dangers(notes, kept)


def with_dangers(notes: pl.Series, kept: pl.Series) -> pl.Series:
    """
    What is kept of each note, with a word for every danger that the whole note reports and the kept words do not.

    Parameters
    ----------
    notes, kept : series of text
        Whole notes, and what is left of each.

    Returns
    -------
    series of text
        A danger reported in words that no list holds ("smells as if something burns") outlives its note so.
    """
    dangers = dangers_of(notes)
    told = dangers.is_not_null().arg_true()
    if not len(told):
        return kept
    already = dangers_of(kept.gather(told)).to_list()
    lines = zip(kept.gather(told).to_list(), dangers.gather(told).to_list(), already, strict=True)
    return kept.clone().scatter(told, pl.Series([_completed(*line) for line in lines], dtype=pl.String))


def _completed(kept: str | None, dangers: str, already: str | None) -> str | None:
    known = (already or "").split(SEVERAL)
    missing = [report_words()[danger] for danger in dangers.split(SEVERAL) if danger not in known]
    return SEVERAL.join(filter(None, [kept, *missing])) or None
