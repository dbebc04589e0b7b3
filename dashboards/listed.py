"""What a page lists of a figure with thousands of rows, and in words what that leaves out."""

from __future__ import annotations

import polars as pl

from pipeline.measures import Question

# Rows of a figure for one kind of machine. Of symptoms there are as many as ways of writing, and nobody reads a page of them.
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
    most, kind = asked.most, "unit_type" if "unit_type" in found.columns else pl.lit(0)
    if most is None or all(rows < most for rows in found.group_by(kind).len()["len"]):
        return ""
    groups = " ".join(f"--by {each}" for each in asked.by)
    of_kind = ", of each kind of machine" if "unit_type" in asked.by else ""
    return f"Listed are the {most:,} rows with most jobs behind them{of_kind}; `mendstat measure {name} {groups}` gives all."
