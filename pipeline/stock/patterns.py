"""Patterns of need from the past: which pieces jobs need together, and how often."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.planning.van import Needs
from pipeline.stock.history import History

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
# Of how sure a rate is: the shape of Jeffreys' prior of a Poisson rate.
PRIOR_PIECES = 0.5


class Selection(NamedTuple):
    """
    What a stock is chosen from.

    Attributes
    ----------
    needs : Needs
        Of the parts in `parts`, by their place there; shares are of all attended fault jobs.
    parts : int, (chosen from,)
        Positions in the history's `keys`.
    jobs_of : int, (keys,)
        Jobs that needed each part of the history, rare ones too.
    beyond : float
        Share of all jobs that only the right part decides but that no stock of these parts can finish: a part too rare.
    """

    needs: Needs
    parts: Ints
    jobs_of: Ints
    beyond: float


def patterns(
    past: History,
    least_jobs: int = RATE_MIN_EVENTS,
    coming: Floats | None = None,
    weight: Floats | None = None,
) -> Selection:
    """
    Needs of a past; a part that fewer jobs needed is too rare to say and is not chosen from.

    Parameters
    ----------
    past : History
    least_jobs : int
        Jobs that must have needed a part.
    coming : float, (keys,), optional
        Need of each part in the time ahead over that in the past; a job that needs several goes by their mean.
    weight : float, (jobs,), optional
        How much each job counts; by default all the same.
    """
    count = len(past.keys)
    jobs_of = np.bincount(past.part, minlength=count).astype(np.int64)
    parts = np.flatnonzero((jobs_of >= least_jobs) & (jobs_of > 0)).astype(np.int64)
    place = np.full(count, -1, dtype=np.int64)
    place[parts] = np.arange(len(parts))
    counts = np.ones(past.jobs) if weight is None else weight
    ahead = np.ones(len(parts)) if coming is None else coming[parts]
    used = np.bincount(past.part, past.pieces * counts[past.job], minlength=count)[parts]
    jobs, offsets, part, pieces = _distinct(past, place, counts)
    total = max(float(counts.sum()), 1e-12)
    needs = Needs(
        jobs / total * _by_pattern(ahead[part], offsets),
        offsets,
        part,
        pieces,
        np.asarray(used + PRIOR_PIECES, dtype=np.float64),
        used=np.asarray(used / total * ahead, dtype=np.float64),
    )
    decided = past.parts_decide & past.needed_fix & past.with_parts
    return Selection(needs, parts, jobs_of, float((counts[decided].sum() - jobs.sum()) / total))


def _by_pattern(of_rows: Floats, offsets: Ints) -> Floats:
    """Mean of the rows of each pattern."""
    if len(offsets) < 2:
        return np.zeros(0)
    return np.asarray(np.add.reduceat(of_rows, offsets[:-1]) / np.diff(offsets), dtype=np.float64)


def _distinct(past: History, place: Ints, counts: Floats) -> tuple[Floats, Ints, Ints, Ints]:
    """Jobs of each pattern that a stock can finish, and its rows: a job with a part too rare cannot be."""
    can = past.parts_decide & past.needed_fix
    can[past.job[place[past.part] < 0]] = False
    inside = can[past.job]
    rows = pl.DataFrame(
        {"job": past.job[inside], "part": place[past.part[inside]], "pieces": past.pieces[inside]}
    )
    # A pattern is written as text, so that equal ones are found in one pass.
    written = (
        rows.sort("job", "part")
        .group_by("job", maintain_order=True)
        .agg((pl.col("part").cast(pl.String) + ":" + pl.col("pieces").cast(pl.String)).str.join(" "))
        .with_columns(pl.Series("counts", counts[np.unique(past.job[inside])]))
        .group_by("part")
        .agg(pl.col("counts").sort().sum())
        .sort("part")
    )
    row = (
        written.select(pl.col("part").str.split(" "))
        .explode("part")
        .select(pl.col("part").str.split_exact(":", 1).struct.rename_fields(["part", "pieces"]))
        .unnest("part")
        .cast(pl.Int64)
    )
    sizes = written["part"].str.count_matches(" ").to_numpy() + 1
    return (
        written["counts"].to_numpy(),
        np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64),
        row["part"].to_numpy(),
        row["pieces"].to_numpy(),
    )
