"""Symptoms told in a sentence: its known words, without what is denied or was so once."""

from __future__ import annotations

import re
from collections.abc import Sequence

import polars as pl

from pipeline.vocabulary import Words, no_danger_words, normal_form, terms_in_text
from pipeline.vocabulary.dangers import SEVERAL, dangers_of
from pipeline.vocabulary.in_text import WordFinder

# Shorter phrases are names that somebody gave a symptom; they stay as they are until a person settles them.
FEWEST_WORDS = 4
_SENTENCE = rf"^\s*\S+(?:\s+\S+){{{FEWEST_WORDS - 1},}}"
# "doesn't leak" is read as "does not leak".
_SHORT_NOT = r"(?i)\b(does|do|did|is|are|was|has)n['’`]?t\b"
_ONCE = re.compile(
    r"\b(?:last (?:year|month|time|visit|summer|winter)|(?:years?|months?|weeks?) ago|previously|in the past|used to"
    r"|letzte[sn] (?:jahr|monat|mal)|vor \S+ (?:jahre?n?|monate?n?|wochen?)|früher|damals"
    r"|(?:vorig|verleden) jaar|vorige maand|vroeger|geleden"
    r"|l['’]an dernier|l['’]année dernière|le mois dernier|auparavant|il y a \S+ (?:ans?|mois|semaines?))\b",
    re.IGNORECASE,
)
# What began then is still so.
_SINCE = re.compile(
    r"\b(?:since|from|star?t\w*|began|seit|angefangen|sinds|begonnen|depuis|commenc\w*)\b", re.IGNORECASE
)
_CLAUSE = re.compile(
    r"[.,;:!?()\n]|\s-\s|\b(?:but|now|aber|jetzt|nun|maar|nu|mais|maintenant)\b", re.IGNORECASE
)


class SymptomFinder:
    """
    Finds the symptoms that sentences tell.

    Parameters
    ----------
    words : Words
        Vocabulary of symptoms, the shop's own words among them.
    parts : Words
        Vocabulary of part names, which hide a symptom's words: a shock absorber is no shock.
    """

    def __init__(self, words: Words, parts: Words) -> None:
        self._words = words
        terms = {*terms_in_text(words), *terms_in_text(parts)}
        terms |= {phrase for phrases in no_danger_words() for phrase in phrases}
        self._finder = WordFinder(sorted(terms))

    def symptoms_of(self, phrases: pl.Series) -> pl.DataFrame:
        """
        Symptoms of those phrases that are sentences and tell any, in the order told, each once.

        Parameters
        ----------
        phrases : series of text
            Phrases that nothing settles, each once.

        Returns
        -------
        frame
            phrase, told (list of text, never empty).
        """
        texts = phrases.rename("phrase").filter(phrases.str.contains(_SENTENCE))
        said = _still_so(texts).str.replace_all(_SHORT_NOT, "${1} not")
        found = pl.DataFrame({"phrase": texts, "terms": self._finder.each_known(said, negated=False)})
        found = found.filter(pl.col("terms").list.len() > 0)
        # Sentences that tell the same words are many.
        terms = found.get_column("terms").unique(maintain_order=True)
        told = [self._meanings(each) for each in terms.to_list()]
        known = pl.DataFrame({"terms": terms, "told": pl.Series(told, dtype=pl.List(pl.String))})
        read = found.join(known, on="terms", how="left", maintain_order="left")
        return _nothing_harmless(read.select("phrase", "told").filter(pl.col("told").list.len() > 0))

    def _meanings(self, terms: Sequence[str]) -> list[str]:
        meanings = (self._words.meaning(normal_form(term)) for term in terms)
        return list(dict.fromkeys(meaning for meaning in meanings if meaning))


def _nothing_harmless(read: pl.DataFrame) -> pl.DataFrame:
    """Without sentences that report a danger ("smells burning a bit") and whose known words report none."""
    said = dangers_of(read.get_column("phrase"))
    understood = dangers_of(read.select(pl.col("told").list.join(SEVERAL)).to_series())
    return read.filter(said.is_null() | understood.is_not_null())


def _still_so(texts: pl.Series) -> pl.Series:
    """Texts without the clauses that tell of another time."""
    once = texts.str.contains(f"(?i){_ONCE.pattern}").arg_true()
    if not len(once):
        return texts
    kept = [
        ", ".join(
            clause for clause in _CLAUSE.split(text) if _SINCE.search(clause) or not _ONCE.search(clause)
        )
        for text in texts.gather(once).to_list()
    ]
    return texts.clone().scatter(once, pl.Series(kept, dtype=pl.String))
