"""A figure as a line to draw: points with their range and how many are left; it stops where fewer than five are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.line import MIN_AT_RISK
from pipeline.estimators.line import Line as Estimated

POINTS = ("x", "value", "low", "high", "at_risk")


@dataclass(frozen=True)
class Line:
    """
    Points of several groups.

    Attributes
    ----------
    frame : DataFrame
        Group columns, then POINTS: place on the axis, figure there, its likely range, how many are still followed.
        A group with fewer than five from the start has no rows.
    groups : tuple of str
        Names of the group columns.
    x_unit, y_unit : str
        What is measured along and up the drawing.
    """

    frame: pl.DataFrame
    groups: tuple[str, ...]
    x_unit: str
    y_unit: str


def of_one(
    value: NDArray[Any], low: NDArray[Any], high: NDArray[Any], at_risk: NDArray[np.int64]
) -> Estimated:
    """The line of a single group."""
    return Estimated(value[None, :], low[None, :], high[None, :], at_risk[None, :])


def of(records: pl.DataFrame, only: Mapping[str, str]) -> pl.DataFrame:
    """
    Records of the groups that are to be drawn.

    Raises
    ------
    CannotAnswerError
        If there is none.
    """
    kept = records.filter([pl.col(name) == value for name, value in only.items()]) if only else records
    if not kept.height:
        named = ", ".join(f"{name} {value}" for name, value in only.items())
        raise CannotAnswerError(f"There is nothing to draw of {named} in the window.")
    return kept


def points(
    keys: Sequence[dict[str, Any]], groups: tuple[str, ...], x: NDArray[Any], estimated: Estimated
) -> pl.DataFrame:
    """
    Rows of a line: the points at which five or more are left.

    Parameters
    ----------
    keys : sequence of dict
        Groups, in the order of the estimate's first axis.
    groups : tuple of str
    x : array, (points,)
        Ascending.
    estimated : Line
        Arrays (groups, points).
    """
    rows = []
    for place, key in enumerate(keys):
        enough = estimated.at_risk[place] >= MIN_AT_RISK
        columns = (x, estimated.value[place], estimated.low[place], estimated.high[place])
        cells = (
            *(column[enough].astype(float).tolist() for column in columns),
            estimated.at_risk[place][enough].tolist(),
        )
        rows += [{**key, **dict(zip(POINTS, point, strict=True))} for point in zip(*cells, strict=True)]
    kinds = {"x": pl.Float64, "value": pl.Float64, "low": pl.Float64, "high": pl.Float64, "at_risk": pl.Int64}
    names = [*groups, *POINTS]
    frame = pl.DataFrame(rows, schema=names if rows else {name: kinds.get(name) for name in names})
    # An upper limit that does not exist is no limit, and nothing else on a drawing would be true.
    frame = frame.with_columns(pl.col(name).cast(kind) for name, kind in kinds.items())
    frame = frame.with_columns(pl.when(pl.col("high").is_finite()).then("high").alias("high"))
    return frame.sort([*groups, "x"], nulls_last=True, maintain_order=True)
