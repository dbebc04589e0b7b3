"""Known words in running text: whole words only, the longest that begins at a place, with the negation before it."""

from __future__ import annotations

import re
import string
from collections.abc import Sequence

import polars as pl

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


class WordFinder:
    """
    Finds known words in texts, many texts at a time.

    A text is cut into words and single signs, each with a space on both sides. Then a known phrase is a plain
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

    def each_known(self, texts: pl.Series, *, negated: bool = True) -> pl.Series:
        """
        Known words of each text in order of appearance, as lists.

        Parameters
        ----------
        texts : series of text
            Whole texts.
        negated : bool
            Whether those that are said not to be so are among them, with their negation.
        """
        name = texts.name
        if not self._patterns:
            return pl.Series(name, [[]], dtype=pl.List(pl.String)).new_from_index(0, len(texts))
        text = spaced_column(pl.col(name).str.to_lowercase())
        found = text.str.extract_many(self._patterns, leftmost=True)
        terms = self._terms if negated else {**dict.fromkeys(self._terms), **self._plain}
        words = found.list.eval(
            pl.element().replace_strict(terms, default=None, return_dtype=pl.String).drop_nulls()
        )
        return texts.to_frame().select(words.alias(name)).to_series()


def spaced_column(text: pl.Expr) -> pl.Expr:
    """Texts with a space before and behind each word and each sign."""
    return pl.lit(" ") + text.str.replace_many(APART).str.replace_all(r"\s{3,}", "  ") + pl.lit(" ")


def spaced(term: str) -> str:
    """A term as it stands in a spaced text."""
    return "".join(f" {word} " for word in _WORD_OR_SIGN.findall(term.lower()))
