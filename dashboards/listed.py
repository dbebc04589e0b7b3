"""What a page lists of a figure with thousands of rows: those with most behind them, and in words how many that leaves out."""

from __future__ import annotations

import polars as pl

# Groups of such a column are as many as there are ways of writing; nobody reads a page of them.
WRITTEN = frozenset({"symptom"})
MOST = 500  # rows of one kind of machine
DRAWN = 200  # rows of a folded chart or table


def most_of(frame: pl.DataFrame, by: tuple[str, ...]) -> pl.DataFrame:
    """
    Without the rows that have least behind them, where a figure is split by what people wrote.

    Parameters
    ----------
    frame : DataFrame
        Of a measure.
    by : tuple of str
        What it is split by.

    Returns
    -------
    DataFrame
        At most `MOST` rows of each group of the other columns, in the order they came in.
    """
    if not WRITTEN & set(by) or frame.height <= MOST:
        return frame
    others = [pl.col(name) for name in by if name not in WRITTEN] or [pl.lit(0)]
    rank = pl.col("denominator").fill_null(0).rank("ordinal", descending=True).over(others)
    return frame.filter(rank <= MOST)


def left_out(name: str, by: tuple[str, ...], whole: int, listed: int) -> str:
    """One sentence that says what is not listed and how to see it; empty where all is."""
    if whole == listed:
        return ""
    groups = " ".join(f"--by {each}" for each in by)
    return (
        f"Of {whole:,} rows this page lists the {listed:,} with most behind them; `mendstat measure {name} {groups}` "
        "gives all."
    )
