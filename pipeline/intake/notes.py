"""Free notes: read for known words, then dropped."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence

import polars as pl

from pipeline.vocabulary.dangers import SEVERAL, dangers_of, report_words

# Directly before a known word they turn its meaning round, so they are kept with it.
NEGATIONS = (
    *("no", "not", "not a", "no sign of", "without", "never"),
    *("kein", "keine", "nicht", "ohne"),
    *("geen", "niet", "zonder"),
    *("pas de", "sans"),
)

_WORD_OR_SIGN = re.compile(r"\w+|[^\w\s]")
_SIGNS = string.punctuation.replace("_", "") + "–—‘’“”„«»…•·°"
APART = {sign: f"  {sign}  " for sign in _SIGNS} | dict.fromkeys((" ", "\t", "\n", "\u00a0"), "  ")


class NoteReader:
    """
    Finds known words in notes, many notes at a time.

    A note is cut into words and single signs, each with a space on both sides. Then a known phrase is a plain
    substring, begins and ends with whole words, and thousands of phrases are looked for in one pass.
    """

    def __init__(self, terms: Sequence[str]) -> None:
        plain = {spaced(term): term for term in terms if term.strip()}
        negated = {
            spaced(word) + form: f"{word} {term}" for word in NEGATIONS for form, term in plain.items()
        }
        self._plain = plain
        self._terms = {**negated, **plain}
        # Of two that begin at the same place the longer one is meant.
        self._patterns = sorted(self._terms, key=lambda form: (-len(form), form))

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

    def each_known(self, notes: pl.Series, *, negated: bool = True) -> pl.Series:
        """
        Known words of each note in order of appearance, as lists.

        Parameters
        ----------
        notes : series of text
            Whole notes.
        negated : bool
            Whether those that are said not to be so are among them, with their negation.
        """
        name = notes.name
        if not self._patterns:
            return pl.Series(name, [[]], dtype=pl.List(pl.String)).new_from_index(0, len(notes))
        text = spaced_column(pl.col(name).str.to_lowercase())
        found = text.str.extract_many(self._patterns, leftmost=True)
        terms = self._terms if negated else {**dict.fromkeys(self._terms), **self._plain}
        words = found.list.eval(
            pl.element().replace_strict(terms, default=None, return_dtype=pl.String).drop_nulls()
        )
        return notes.to_frame().select(words.alias(name)).to_series()


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


def spaced_column(text: pl.Expr) -> pl.Expr:
    """Texts with a space before and behind each word and each sign."""
    return pl.lit(" ") + text.str.replace_many(APART).str.replace_all(r"\s{3,}", "  ") + pl.lit(" ")


def spaced(term: str) -> str:
    """A term as it stands in a spaced text."""
    return "".join(f" {word} " for word in _WORD_OR_SIGN.findall(term.lower()))
