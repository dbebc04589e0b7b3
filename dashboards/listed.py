"""What a page lists of a figure with thousands of rows, and in words what that leaves out."""

from __future__ import annotations

import polars as pl

from pipeline.measures import Question

# Of figures split by symptom, of one kind of machine: there are as many as ways of writing, and nobody reads a page of them.
MOST = 500
DRAWN = 200  # rows of a folded chart or table


def left_out(name: str, found: pl.DataFrame, asked: Question) -> str:
    """
    One sentence that says what a page does not list of a figure, and how to see it; empty where it lists all.

    Parameters
    ----------
    name : str
        The measure.
    found : DataFrame
        Its rows.
    asked : Question
        With `most`, the rows of a kind of machine that were asked for.
    """
    most = asked.most
    if most is None or found.height < most:
        return ""
    groups = " ".join(f"--by {each}" for each in asked.by)
    of_kind = ", of each kind of machine" if "unit_type" in asked.by else ""
    return f"Listed are the {most:,} rows with most jobs behind them{of_kind}; `mendstat measure {name} {groups}` gives all."
