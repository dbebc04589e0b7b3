"""What one phrase means, and by which rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from pipeline.vocabulary import Words, loose_forms, normal_form, normal_forms

SEVERAL = ";"
# How sure a rule is: settled by a person or by the standard itself, by the starter vocabulary, by nobody.
CONFIDENCE = {
    "standard value": 1.0,
    "layout": 1.0,
    "shop's vocabulary": 1.0,
    "as most often written": 1.0,
    "vocabulary": 0.9,
    "no part": 0.9,
    "from note": 0.7,
    "words of a sentence": 0.7,
    "own words": 0.0,
    "unsettled": 0.0,
}


@dataclass(frozen=True)
class Meaning:
    """What one phrase of one column means in files of one layout."""

    layout: str
    column_name: str
    phrase: str
    meaning: str | None
    rule: str


def read_phrase(words: Words, values: Mapping[str, str], phrase: str) -> tuple[str | None, str]:
    """
    Meaning of one phrase and the rule that found it.

    Parameters
    ----------
    words : Words
        Vocabulary of the column.
    values : mapping of str to str
        What the layout says about its own file's words, keyed by normal form; it comes first.
    phrase : str
        As the file has it.

    Returns
    -------
    meaning, rule : str or None, str
        A phrase that nothing settles is its own meaning, in normal form; None when nothing is left of it.
    """
    form = normal_form(phrase)
    if form in values:
        return values[form] or None, "layout"
    meaning = words.meaning(form)
    if meaning is None:
        return form or None, "unsettled" if words.is_closed else "own words"
    if form in words.own:
        return meaning, "shop's vocabulary"
    return meaning, "standard value" if form == meaning else "vocabulary"


def read_phrases(words: Words, values: Mapping[str, str], phrases: pl.Series) -> pl.DataFrame:
    """
    `read_phrase` of many phrases at a time.

    Parameters
    ----------
    words, values
        As there.
    phrases : series of text
        Each once.

    Returns
    -------
    frame
        phrase, meaning, rule; in the order of the phrases.
    """
    forms = normal_forms(phrases)
    frame = pl.DataFrame({"phrase": phrases, "form": forms, "loose": loose_forms(forms)})
    form, by_layout, known = pl.col("form"), pl.col("by_layout"), pl.col("known")
    found = frame.with_columns(
        _looked_up("form", values).alias("by_layout"),
        pl.coalesce(_looked_up("form", words.known), _looked_up("loose", words.known)).alias("known"),
    )
    rule = (
        pl.when(by_layout.is_not_null())
        .then(pl.lit("layout"))
        .when(known.is_null())
        .then(pl.lit("unsettled" if words.is_closed else "own words"))
        .when(form.is_in(sorted(words.own)))
        .then(pl.lit("shop's vocabulary"))
        .when(form == known)
        .then(pl.lit("standard value"))
        .otherwise(pl.lit("vocabulary"))
    )
    meaning = pl.coalesce(by_layout, known, form)
    return found.select("phrase", pl.when(meaning != "").then(meaning).alias("meaning"), rule.alias("rule"))


def _looked_up(column: str, table: Mapping[str, str]) -> pl.Expr:
    return pl.col(column).replace_strict(
        list(table), list(table.values()), default=None, return_dtype=pl.String
    )


def pieces(cell: str) -> list[str]:
    """Phrases of a cell that may hold several, in the order written, each once."""
    return list(dict.fromkeys(piece.strip() for piece in cell.split(SEVERAL) if piece.strip()))
