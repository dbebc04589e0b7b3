"""Reads phrases with everything that is known: what layouts say about their own files' words, then the vocabulary."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from pipeline.normalise.files import LayoutReading
from pipeline.normalise.phrases import Meaning, read_phrase, read_phrases
from pipeline.standard_log import columns_of_kind
from pipeline.vocabulary import YES_NO, Words, normal_form
from pipeline.vocabulary.no_parts import NoParts

NO_WORDS = Words("", frozenset(), {}, is_closed=False, outside=frozenset(), ignored=frozenset())
_YES_NO_COLUMNS = frozenset((*columns_of_kind("log", "yes_no"), *columns_of_kind("parts", "yes_no")))


class PhraseReader:
    """
    What phrases are read with.

    Parameters
    ----------
    layouts : mapping
        By name.
    vocabulary : mapping of str to Words
        By column.
    no_parts : NoParts
        What is no part, where a part is named.
    """

    def __init__(
        self, layouts: Mapping[str, LayoutReading], vocabulary: Mapping[str, Words], no_parts: NoParts
    ) -> None:
        self.layouts, self.vocabulary, self.no_parts = layouts, vocabulary, no_parts
        self._values: dict[tuple[str, str], dict[str, str]] = {}

    def read(self, layout: str, column: str, phrase: str) -> Meaning:
        """
        Meaning of one phrase of a column in files of one layout.

        Parameters
        ----------
        layout, column, phrase : str
            As in normalise.meanings.
        """
        values = self.values(layout, column)
        if column == "part_name" and normal_form(phrase) not in values and phrase in self.no_parts:
            return Meaning(layout, column, phrase, None, "no part")
        return Meaning(layout, column, phrase, *read_phrase(self.words(column), values, phrase))

    def read_all(self, layout: str, column: str, phrases: pl.Series) -> pl.DataFrame:
        """
        `read` of many phrases at a time.

        Returns
        -------
        frame
            phrase, meaning, rule; in the order of the phrases.
        """
        values = self.values(layout, column)
        found = read_phrases(self.words(column), values, phrases)
        if column != "part_name":
            return found
        # None of them settled by the layout or it would say so.
        is_none = (pl.col("rule") != "layout") & pl.Series(
            [phrase in self.no_parts for phrase in phrases], dtype=pl.Boolean
        )
        return found.with_columns(
            pl.when(~is_none).then(pl.col("meaning")).alias("meaning"),
            pl.when(is_none).then(pl.lit("no part")).otherwise(pl.col("rule")).alias("rule"),
        )

    def known(self, layout: str, column: str, phrase: str) -> str | None:
        """What a phrase means by the layout or the vocabulary; None where nothing settles it."""
        form = normal_form(phrase)
        return self.values(layout, column).get(form) or self.words(column).meaning(form)

    def words(self, column: str) -> Words:
        """Vocabulary of a column; the columns that answer yes or no share one."""
        return self.vocabulary.get(YES_NO if column in _YES_NO_COLUMNS else column, NO_WORDS)

    def values(self, layout: str, column: str) -> dict[str, str]:
        """What a layout says about its own file's words, by normal form."""
        if (layout, column) not in self._values:
            known = self.layouts.get(layout)
            values = known.values.get(column, {}) if known else {}
            self._values[layout, column] = {
                normal_form(phrase): meaning for phrase, meaning in values.items()
            }
        return self._values[layout, column]
