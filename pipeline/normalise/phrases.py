"""What one phrase means, and by which rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.vocabulary import Words, normal_form

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

    @property
    def row(self) -> dict[str, object]:
        """As a row of normalise.meanings."""
        return {**vars(self), "confidence": CONFIDENCE[self.rule]}


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


def pieces(cell: str) -> list[str]:
    """Phrases of a cell that may hold several, in the order written, each once."""
    return list(dict.fromkeys(piece.strip() for piece in cell.split(SEVERAL) if piece.strip()))
