"""Rows of a file that are no line of work: totals, and headers that stand in it again."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from pipeline.intake.layouts import Layout, comparable

A_TOTAL = "a total, no line of work"
THE_HEADER = "the header again"
SIGNS = " .:*"  # around the word of a total


class NoWork:
    """
    Tells rows that are no line of work, in one look at a block.

    Parameters
    ----------
    headers : sequence of str
        Of the file.
    layout : Layout
        Says which words mark a total.
    """

    def __init__(self, headers: Sequence[str], layout: Layout) -> None:
        names = [comparable(header) for header in headers]
        self._headers = {str(at): name for at, name in enumerate(names) if name}
        marks = {comparable(header): words for header, words in layout.set_aside.items()}
        self._marks = {
            str(at): [_plain(word) for word in marks[name]] for at, name in enumerate(names) if name in marks
        }

    def added_to(self, problems: pl.Series, cells: pl.DataFrame) -> pl.Series:
        """
        What is wrong with each row.

        Parameters
        ----------
        problems : series of text
            What is known to be wrong already; it stays.
        cells : frame
            Text columns named by position.
        """
        frame = cells.with_columns(problems.alias("problem"), self._is_header(cells).alias("is_header"))
        found = (
            pl.when(pl.col("is_header")).then(pl.lit(THE_HEADER)).when(self._is_total()).then(pl.lit(A_TOTAL))
        )
        return frame.select(pl.coalesce(pl.col("problem"), found)).to_series()

    def _is_total(self) -> pl.Expr:
        if not self._marks:
            return pl.lit(value=False)
        return pl.any_horizontal(
            pl.col(at).str.replace_all(r"\s+", " ").str.strip_chars(SIGNS).str.to_lowercase().is_in(words)
            for at, words in self._marks.items()
        )

    def _is_header(self, cells: pl.DataFrame) -> pl.Series:
        """Rows whose every cell says what its header says."""
        again = pl.Series([False]).new_from_index(0, cells.height)
        if not self._headers:
            return again
        first, name = next(iter(self._headers.items()))
        # One column rules nearly every row out, so that only a handful is compared whole.
        near = (cells.get_column(first).str.strip_chars().str.to_lowercase() == name.lower()).fill_null(
            value=False
        )
        rows = [
            row
            for row in near.arg_true().to_list()
            if all(comparable(cells.item(row, at)) == name for at, name in self._headers.items())
        ]
        return again.scatter(rows, [True] * len(rows)) if rows else again


def _plain(word: str) -> str:
    return " ".join(word.split()).strip(SIGNS).lower()
