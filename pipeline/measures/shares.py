"""Plain shares as rows: value, range, counts and sample, from what each machine adds."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import ArrayLike, NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.arrays import tally
from pipeline.estimators.rates import UnitSums
from pipeline.estimators.sample import proportion_sample
from pipeline.estimators.unit_shares import unit_share
from pipeline.measures.groups import positions

# The machine of a job; a job on no known machine stands for itself.
UNIT = "coalesce(j.machine_no, -j.job_no)"


def refuse_where_never_said(con: duckdb.DuckDBPyConnection, outcome: str) -> None:
    """
    Refuse the share of an outcome that no fault job has.

    Raises
    ------
    CannotAnswerError
        If the log never has it.
    """
    sql = "select count(*) from tables.jobs where is_fault and outcome = $1"
    if not con.execute(sql, [outcome]).fetchall()[0][0]:
        raise CannotAnswerError(
            f'The log never has "{outcome}" as an outcome, so its share cannot be told from one that nobody wrote down.'
        )


def share_rows(sums: UnitSums, level: float) -> list[dict[str, Any]]:
    """
    Value, limits, counts, sample, level and effective size, one row a group.

    Parameters
    ----------
    sums : UnitSums
        Arrays (groups,): `d` hits, `t` jobs, and what the machines add up to.
    """
    found = unit_share(sums, level)
    words = proportion_sample(found.n_eff, found.low, found.high, found.units)
    columns = (found.value, found.low, found.high, sums.d, sums.t, words, found.n_eff)
    names = ("value", "low", "high", "numerator", "denominator", "sample", "effective_n")
    cells = zip(*(np.asarray(column).tolist() for column in columns), strict=True)
    return [dict(zip(names, row, strict=True), level=level) for row in cells]


def sums_of(at: NDArray[np.int64], groups: int, hits: ArrayLike, of: ArrayLike) -> UnitSums:
    """
    What machines add up to.

    Parameters
    ----------
    at, hits, of : arrays of int (machines,)
        Place of the group; hits and jobs of the machine in it.
    groups : int
    """
    x, n = np.asarray(hits, dtype=np.float64), np.asarray(of, dtype=np.float64)
    columns = (x, n, x * x, x * n, n * n, (n > 0).astype(np.float64))
    return UnitSums(*(tally(at, groups, column) for column in columns))


def shares_of_kinds(
    counts: pl.DataFrame,
    machines: pl.DataFrame,
    groups: tuple[str, ...],
    names: tuple[str, ...],
    level: float,
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """
    Keys and shares of the kinds (`names`, the group columns among them) into which the jobs of each group are divided.

    Parameters
    ----------
    counts : DataFrame
        Jobs of each machine and kind: `names`, `unit`, `hits`.
    machines : DataFrame
        All jobs of each machine in a group: `groups`, `unit`, `of`. A group without any has nothing below its line.
    """
    wholes, place = positions(machines, groups)
    # The last place is that of groups without any job.
    whole = sums_of(place, len(wholes) + 1, machines["of"], machines["of"])
    places = {tuple(key.values()): at for at, key in enumerate(wholes)}
    keys, at = positions(counts, names)
    belongs = np.array([places.get(tuple(key[name] for name in groups), -1) for key in keys], dtype=np.int64)
    of = counts.join(machines, on=[*groups, "unit"], how="left", nulls_equal=True, maintain_order="left")[
        "of"
    ]
    return keys, share_rows(kinds_of(whole, belongs, at, counts["hits"], of.fill_null(0)), level)


def kinds_of(
    whole: UnitSums, belongs: NDArray[np.int64], at: NDArray[np.int64], hits: ArrayLike, of: ArrayLike
) -> UnitSums:
    """
    What machines add up to where each group is divided into kinds that share its jobs.

    Parameters
    ----------
    whole : UnitSums
        Of the groups, whatever the hits.
    belongs : array of int (kinds,)
        Group of each kind.
    at, hits, of : arrays of int (rows,)
        Kind; hits of one machine of that kind; all jobs of that machine in the group. Machines without a hit need no row.
    """
    kinds = len(belongs)
    x, n = np.asarray(hits, dtype=np.float64), np.asarray(of, dtype=np.float64)
    t, tt, units = (np.asarray(column)[belongs] for column in (whole.t, whole.tt, whole.units))
    return UnitSums(tally(at, kinds, x), t, tally(at, kinds, x * x), tally(at, kinds, x * n), tt, units)
