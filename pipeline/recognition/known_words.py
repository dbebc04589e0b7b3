"""How far the words of a column are those that the vocabulary knows for a standard column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path

from pipeline.recognition.columns import Column
from pipeline.vocabulary import YES_NO, Words, normal_form, vocabulary
from pipeline.vocabulary.no_parts import no_parts
from pipeline.vocabulary.paperwork import is_paperwork

# Columns whose words the vocabulary has.
WORD_COLUMNS = (
    *(
        "job_kind",
        "return_reason",
        "unit_type",
        "fitting",
        "site_kind",
        "symptom",
        "check_result",
        "finding",
        "mechanism",
    ),
    *(
        "cause",
        "part_name",
        "part_status",
        "part_source",
        "action",
        "payer",
        "outcome",
        "second_visit_reason",
    ),
)
SEVERAL = re.compile(r"\s*(?:[;\n\r+&]|\s/\s|,\s|\band\b)\s*", re.IGNORECASE)
MANY = frozenset(("symptom", "finding", "part_name", "action"))  # columns in whose cells several may stand
LONGEST = 5  # words of a term that is looked for in running text
_TOKEN = re.compile(r"[^\W\d_][\w/'-]*")
# Terms of fewer signs mean too many things in running text.
SHORTEST = 4
MOSTLY_KNOWN = 0.9


class KnownWords:
    """
    The vocabulary, asked whether it knows cells.

    Parameters
    ----------
    folder : Path or None
        The shop's own words, if it has some.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.words: Mapping[str, Words] = vocabulary(folder)
        self.no_parts = no_parts(folder)

    def share(self, target: str, column: Column) -> tuple[float, float]:
        """Share of rows, and of distinct cells, that the vocabulary knows for a standard column."""
        texts, counts = column.known
        if not texts:
            return 0.0, 0.0
        knows = [self.knows(target, text) for text in texts]
        rows = sum(k * n for k, n in zip(knows, counts, strict=True)) / sum(counts)
        return rows, sum(knows) / len(texts)

    def told(self, target: str, column: Column) -> float:
        """Share of rows in whose running text a term of a standard column stands."""
        terms = self._terms[target]
        return column.share(lambda text: not terms.isdisjoint(_runs(text)))

    def yes_no(self, column: Column) -> float:
        """Share of rows that say yes, no or unknown."""
        return self.share(YES_NO, column)[0]

    def answers_as_outcome(self, column: Column) -> dict[str, str]:
        """
        What yes and no mean as the outcome of a visit, by the cell, where they do; nothing where they may answer anything.

        Where the other cells say how a visit ended and none that it was fixed, yes stands for that.
        """
        answers = {text: self.words[YES_NO].meaning(normal_form(text)) for text in column.known[0]}
        ends = {text: self.words["outcome"].meaning(normal_form(text)) for text in column.known[0]}
        others = {ends[text] for text, answer in answers.items() if answer is None}
        if "yes" not in answers.values() or not others - {None} or "fixed" in others:
            return {}
        if column.share(lambda text: answers[text] or ends[text]) < MOSTLY_KNOWN:
            return {}
        means = {"yes": "fixed", "no": "not finished"}
        return {text: means[answer] for text, answer in answers.items() if answer in means}

    def paperwork(self, column: Column) -> float:
        """Share of rows that say what became of the papers of a visit."""
        return column.share(lambda text: is_paperwork(text, self.words["outcome"]))

    def is_trade(self, text: str) -> bool:
        """Whether a text holds a term of the trade."""
        runs = _runs(text)
        return any(not terms.isdisjoint(runs) for terms in self._terms.values())

    @cached_property
    def _terms(self) -> dict[str, frozenset[str]]:
        return {
            name: frozenset(
                term
                for term in (*self.words[name].standard, *self.words[name].other)
                if len(term) >= SHORTEST
            )
            for name in WORD_COLUMNS
        }

    def knows(self, target: str, text: str) -> float:
        """How much of a cell the vocabulary knows for a standard column, 0 to 1."""
        words = self.words[target]
        if words.meaning(normal_form(text)) is not None:
            return 1.0
        if target == "part_name" and text in self.no_parts:
            return 1.0
        if target not in MANY:
            return 0.0
        pieces = [piece for piece in SEVERAL.split(text) if piece]
        known = [words.meaning(normal_form(piece)) is not None for piece in pieces]
        return sum(known) / len(known) if len(known) > 1 else 0.0


def _runs(text: str) -> set[str]:
    """Every run of a few words of a text, in normal form."""
    said = _TOKEN.findall(normal_form(text))[:80]
    return {
        " ".join(said[start : start + many])
        for many in range(1, LONGEST + 1)
        for start in range(len(said) - many + 1)
    }
