"""A list for each van by its own work, where the log's technicians stand for vans."""

from __future__ import annotations

from collections.abc import Callable

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.sample import COMPARISON_MIN_N
from pipeline.measures.query import ask
from pipeline.stock.van import Basis, VanStock, own_weights, van_stock
from pipeline.stock.van_rows import rows
from pipeline.stock.wish import Wish
from pipeline.stock.words import counted

NOBODY = "no technician named"
KINDS_TOLD = 3
WORK = """
select v.technician, j.unit_type, count(*) as jobs
from tables.jobs as j
join tables.visits as v on v.job_no = j.job_no and v.visit_no = j.first_attended_no
where j.is_fault and j.unit_type is not null
group by all
order by v.technician, jobs desc, j.unit_type
"""
# A list that all carry is held against the stock list; who drives which of its vans, nobody knows.
_AGAINST = ("on_vans", "put_in", "take_out")


def each_van(basis: Basis, wish: Wish, progress: Callable[[str], None] | None = None) -> list[VanStock]:
    """
    A choice for each technician with enough jobs, most jobs first.

    Raises
    ------
    CannotAnswerError
        If nobody has enough.
    """
    past = basis.past
    jobs = np.bincount(past.van, minlength=past.vans)
    choices = []
    for van, weight in enumerate(own_weights(past)):
        if jobs[van] >= COMPARISON_MIN_N:
            if progress:
                progress(f"Choosing for van {van + 1} of {past.vans}")
            choices.append(van_stock(basis, wish, van, weight))
    if not choices:
        raise CannotAnswerError(
            f"No technician has {COMPARISON_MIN_N} attended fault jobs or more, so no van can have a list of its own yet: "
            "mendstat van-stock without --each-van gives one for all."
        )
    return sorted(choices, key=lambda found: -jobs[found.van or 0])


def work_of(con: duckdb.DuckDBPyConnection) -> dict[str | None, str]:
    """By technician the kinds of machine that most of the jobs were on, with their shares."""
    told = {}
    for (name,), found in ask(con, WORK, {}).group_by("technician", maintain_order=True):
        top = found.with_columns((pl.col("jobs") / pl.col("jobs").sum()).alias("share")).head(KINDS_TOLD)
        told[name if name is None else str(name)] = ", ".join(
            f"{row['unit_type']} {row['share']:.0%}" for row in top.to_dicts()
        )
    return told


def each_van_rows(choices: list[VanStock], work: dict[str | None, str]) -> pl.DataFrame:
    """The lists below each other: `van, work`, then the columns of a list; never ranked."""
    frames = []
    for found in choices:
        name = found.basis.past.names[found.van or 0]
        listed = rows(found).filter(pl.col("quantity") > 0)
        frames.append(
            listed.select(
                pl.lit(name or NOBODY).alias("van"),
                pl.lit(work.get(name, "")).alias("work"),
                *(column for column in listed.columns if column not in _AGAINST),
            )
        )
    return pl.concat(frames)


def notes(choices: list[VanStock]) -> list[str]:
    """What the lists rest on, and how much they differ."""
    shares = [found.share(found.tour.finished(found.chosen)) for found in choices]
    stocks = np.array([found.stock > 0 for found in choices])
    return [
        (
            f"A list for each of {counted(len(choices), 'van', 'vans')} (technicians in the log, by their pseudonyms; work: kinds of machine), "
            f"chosen by its own past jobs and, as far as vans do the same work, everyone's. {_differ(stocks)}"
        ),
        f"Of the jobs that only the right part decides, {min(shares):.0%} to {max(shares):.0%} would end at the first visit.",
        "Second trips saved: a year's, of that van. Whether own lists do better than one for all: --replay --each-van.",
    ]


def _differ(stocks: NDArray[np.bool_]) -> str:
    common = int(stocks.all(axis=0).sum())
    return f"{counted(common, 'part is', 'parts are')} on every list, {int(stocks.any(axis=0).sum()) - common} on some."
