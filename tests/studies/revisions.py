"""
Past revisions: is what was printed for a log cut off earlier contradicted by what came later?

The end of the window (`complete_to`) goes back month by month. The figure up to there (what would have been printed then) is set
against the same figure of the time after it alone. They contradict each other where the range of their difference (MOVER) leaves
out zero; with 95 % ranges that may happen in 5 of 100. Beside it: how often the figure of the whole log lies outside the range
printed earlier; as the earlier jobs are among the later ones, that should be seldom.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.estimators.proportions import newcombe_difference
from pipeline.measures import Question, evaluate

FIRST_MONTHS, LAST_MONTHS = 9, 3  # what an early figure has behind it at least, and what comes after it
ASKED = (
    ("part-failure-rate", {"by": ("part_no",)}),
    ("repeat-visits", {"by": ("unit_type",)}),
    ("repeat-visits", {"by": ("part_no", "action"), "days": 90, "kind": "same-fault"}),
    ("part-life", {"by": ("part_no",)}),
    ("time-to-fix", {"by": ("unit_type",)}),
    ("time-to-fix", {"by": ("unit_type",), "clock": "restored"}),
    ("first-visit", {"by": ("unit_type",)}),
    ("fixed-share", {"by": ("unit_type",)}),
    ("no-fault-found", {"by": ("unit_type",)}),
    ("wrong-part", {"by": ("part_no",)}),
)


@dataclass(frozen=True)
class Revision:
    """One figure of one group, cut off at `complete_to`: is it contradicted by what came later, and by the whole log?"""

    figure: str
    group: tuple[Any, ...]
    complete_to: date
    by_later: bool
    by_whole: bool


def revisions(con: duckdb.DuckDBPyConnection, every: int = 1) -> Iterator[Revision]:
    """
    Compare every figure at every cut.

    Parameters
    ----------
    every : int
        Months between two cuts.
    """
    row = con.execute("select first_on, closed_complete_to from facts.windows").fetchall()[0]
    first, last = row
    for name, asked in ASKED:
        figure = " ".join([name, *(f"{key} {_said(value)}" for key, value in asked.items())])
        whole = _rows(con, name, Question(**asked, complete_to=_at(last)))
        for cut in _cuts(first, last, every):
            earlier = _rows(con, name, Question(**asked, complete_to=_at(cut)))
            later = _rows(con, name, Question(**asked, from_at=_at(cut), complete_to=_at(last)))
            for group in sorted(set(earlier) & set(later) & set(whole), key=str):
                told = [rows[group] for rows in (earlier, later)]
                apart = newcombe_difference(*told)
                value, (_, low, high) = whole[group][0], earlier[group]
                yield Revision(
                    figure,
                    group,
                    cut,
                    bool((apart.low > 0) | (apart.high < 0)),
                    not low <= value <= high,
                )


def _rows(con: duckdb.DuckDBPyConnection, name: str, question: Question) -> dict[tuple[Any, ...], Any]:
    """Value, low and high of each group of which a value was printed."""
    try:
        result = evaluate(con, name, question)
    except CannotAnswerError:
        return {}
    keys = result.columns[: result.columns.index("value")]
    keys += ["days"] if name == "part-life" else []
    told = result.filter(pl.all_horizontal(pl.col("value", "low", "high").is_not_null()))
    return {
        tuple(row[key] for key in keys): (row["value"], row["low"], row["high"])
        for row in told.iter_rows(named=True)
    }


def _cuts(first: date, last: date, every: int) -> Iterator[date]:
    """First days of months, the latest first."""
    months = range(
        first.year * 12 + first.month - 1 + FIRST_MONTHS, last.year * 12 + last.month - LAST_MONTHS
    )
    for month in list(months)[::-every]:
        yield date(month // 12, month % 12 + 1, 1)


def _at(day: date) -> datetime:
    return datetime.combine(day, time.min)


def _said(value: Any) -> str:
    return ",".join(value) if isinstance(value, tuple) else str(value)


def summary(found: list[Revision]) -> pl.DataFrame:
    """By figure: groups, comparisons, and the shares contradicted; the last row is all together."""
    frame = pl.DataFrame([vars(each) | {"group": str(each.group)} for each in found])
    sums = (
        pl.col("group").n_unique().alias("groups"),
        pl.len().alias("comparisons"),
        (100 * pl.col("by_later").mean()).round(1).alias("contradicted by what came later %"),
        (100 * pl.col("by_whole").mean()).round(1).alias("whole log outside %"),
    )
    each = frame.group_by("figure", maintain_order=True).agg(*sums)
    together = frame.with_columns(figure=pl.lit("all")).group_by("figure").agg(*sums)
    return pl.concat([each, together])
