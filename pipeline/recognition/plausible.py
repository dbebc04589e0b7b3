"""What a column can be at all, as far as its cells show: asked only where a question names columns."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from pathlib import Path

from pipeline.intake.block import Header, Table
from pipeline.recognition.clues import LEFT_OUT, NEVER, PERSONAL, Clues, own_clues, weight
from pipeline.recognition.columns import Column, columns_under
from pipeline.recognition.known_words import KnownWords
from pipeline.recognition.sampling import first_rows


class Plausible:
    """
    Tells whether a column of a table can be a standard column.

    Parameters
    ----------
    table : Table
        The table; its first rows are read when it is first asked.
    header : Header
        Its header.
    vocabulary_folder : Path
        The shop's own words.
    """

    def __init__(self, table: Table, header: Header, vocabulary_folder: Path) -> None:
        self._table, self._header, self._folder = table, header, vocabulary_folder

    def __call__(self, position: int, target: str) -> bool:
        """Whether the cells of a column, by its 0-based position, can be those of a standard column."""
        return may_be(self._clues, position, target)

    @cached_property
    def _clues(self) -> Clues:
        columns: Sequence[Column] = columns_under(self._header, first_rows(self._table, self._header))
        return own_clues(columns, KnownWords(self._folder))


def may_be(clues: Clues, position: int, target: str) -> bool:
    """Whether nothing rules a standard column out, and the column does not rather hold what names people."""
    most = max(LEFT_OUT, key=lambda reason: weight(clues, position, reason))
    is_personal = most in PERSONAL and weight(clues, position, most) > max(
        0.0, weight(clues, position, target)
    )
    return not is_personal and weight(clues, position, target) > 0.5 * NEVER
