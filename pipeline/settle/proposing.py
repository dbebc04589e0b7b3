"""What each unsettled word may mean, with a chance, learned from the words that are settled already."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from pipeline.estimators.text_classes import TextClasses, learn_classes
from pipeline.settle.unsettled import MOST, Word, unsettled
from pipeline.vocabulary import Words, vocabulary
from pipeline.vocabulary.dangers import SEVERAL, dangers_of
from pipeline.vocabulary.nearest import plain
from pipeline.vocabulary.paperwork import is_paperwork

# Below that the likeliest meaning is no proposal, and another one is not worth naming beside it.
LEAST, LEAST_BESIDE = 0.15, 0.03
PROPOSED = 3
# Learning takes time by the third power of the texts; the vocabulary and two thousand more are a second or two.
MOST_TEXTS = 2500


@dataclass(frozen=True)
class Proposal:
    """A word, its likeliest meanings with their chances, likeliest first; none where nothing is likely."""

    word: Word
    meanings: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class ToSettle:
    """
    Words that wait, with proposals.

    Attributes
    ----------
    proposals : tuple of Proposal
        Most jobs first.
    total, lines : int
        All words that wait, and the lines that hold one.
    meanings : dict of str to tuple of str
        By column: the meanings that there are.
    closed : frozenset of str
        Columns in which a word cannot be a meaning of its own.
    right, tried : float
        Over the settled words of the columns listed: how many would have been proposed rightly without themselves.
    """

    proposals: tuple[Proposal, ...]
    total: int
    lines: int
    meanings: Mapping[str, tuple[str, ...]]
    closed: frozenset[str]
    right: float
    tried: float


def words_to_settle(con: duckdb.DuckDBPyConnection, folder: Path | None, most: int = MOST) -> ToSettle:
    """
    The most frequent words that wait, each with what it may mean.

    Parameters
    ----------
    con : connection
        A build.
    folder : Path or None
        The shop's vocabulary.
    most : int
        How many words at most.
    """
    found = unsettled(con, most)
    known = vocabulary(folder)
    by_column: dict[str, list[Word]] = defaultdict(list)
    for word in found.words:
        by_column[word.column].append(word)
    meanings: dict[Word, tuple[tuple[str, float], ...]] = {}
    right = tried = 0.0
    for column, words in by_column.items():
        learned = _learned(con, column, known[column])
        if learned is not None:
            right, tried = right + learned.right, tried + learned.tried
            meanings.update(zip(words, _likeliest(learned, words, known[column]), strict=True))
    return ToSettle(
        tuple(Proposal(word, meanings.get(word, ())) for word in found.words),
        found.total,
        found.lines,
        {column: tuple(sorted(known[column].standard)) for column in by_column},
        frozenset(column for column in by_column if known[column].is_closed),
        right,
        tried,
    )


def _learned(con: duckdb.DuckDBPyConnection, column: str, words: Words) -> TextClasses | None:
    known = settled_texts(con, column, words)
    if len({meaning for given in known.values() for meaning in given}) < 2:
        return None
    return learn_classes(known, 0.0 if words.is_closed else _new_share(words))


def _new_share(words: Words) -> float:
    """How many words of an open column are a meaning of their own: a half, until the shop's own answers say otherwise."""
    return (len(words.new) + 1.0) / (len(words.new) + len(words.own) + 2.0)


def settled_texts(con: duckdb.DuckDBPyConnection, column: str, words: Words) -> dict[str, dict[str, float]]:
    """
    Texts whose meaning is settled, as `plain` gives them: the vocabulary in its four languages, what layouts say.

    Returns
    -------
    dict of str to dict of str to float
        By text: how often it was given each meaning.
    """
    said = [(meaning, meaning) for meaning in sorted(words.standard)] + sorted(words.other.items())
    layouts = (
        "select distinct phrase, meaning from normalise.meanings where column_name = $1 and rule = 'layout' "
    )
    said += con.execute(
        f"{layouts} and meaning is not null order by all limit $2", [column, MOST_TEXTS]
    ).fetchall()
    known: dict[str, dict[str, float]] = {}
    for way, meaning in said:
        text = plain(way)
        if text and (text in known or len(known) < MOST_TEXTS):
            # Said twice is not surer: the same way of writing stands in several lists.
            known.setdefault(text, {})[meaning] = 1.0
    return known


def _likeliest(
    learned: TextClasses, words: Sequence[Word], known: Words
) -> list[tuple[tuple[str, float], ...]]:
    chances = learned.chances([plain(word.words) for word in words])
    dangers = _dangers([word.words for word in words])
    of_meanings = _dangers(learned.classes)
    told: list[tuple[tuple[str, float], ...]] = []
    for word, row, danger in zip(words, chances, dangers, strict=True):
        # Papers say nothing about the machine, and mean now this, now that: the layout of their file has to say it.
        if word.column == "outcome" and is_paperwork(word.words, known):
            told.append(())
            continue
        # What reports a danger is never taken for something harmless.
        allowed = [not danger or bool(danger & of_meaning) for of_meaning in of_meanings]
        order = [at for at in np.argsort(-row, kind="stable") if allowed[at]][:PROPOSED]
        is_told = bool(plain(word.words)) and bool(order) and row[order[0]] >= LEAST
        told.append(
            tuple(
                (learned.classes[at], float(row[at])) for at in order if is_told and row[at] >= LEAST_BESIDE
            )
        )
    return told


def _dangers(texts: Sequence[str]) -> list[frozenset[str]]:
    found = dangers_of(pl.Series(texts, dtype=pl.String)).to_list()
    return [frozenset(each.split(SEVERAL)) if each else frozenset() for each in found]
