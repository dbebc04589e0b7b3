"""How far the chances of a fix lean on coarser groups of jobs: learnt from the log itself, all of its symptoms together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy.special import gammaln

from pipeline.estimators.back_off import ROOT
from pipeline.measures.symptom_jobs import counted_fixes

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

# Where the log has too few fixes to say.
USUAL_OF_KIND, USUAL_EVEN, USUAL_OF_FINER = 1.0, 1.0, 16.0
ENOUGH_TO_CHOOSE = 100  # fixes that held, of all symptoms
TRIED_OF_KIND = (0.25, 1.0, 4.0, 16.0, 64.0)
TRIED_EVEN = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
TRIED_OF_FINER = (2.0, 4.0, 8.0, 16.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0, 256.0)
LABEL = ["subject", "action"]
FINER = ("fault_code", "model")


@dataclass(frozen=True)
class Weights:
    """
    Jobs that are lent to a group of jobs: what they say holds until its own say otherwise.

    Attributes
    ----------
    kind : float
        To a kind of machine, by all kinds.
    even : float
        To a kind of machine, for each fix seen on it: what was done most often so far is not quite so likely as its share.
    finer : float
        To a code or a model, by the kind; apart from `kind`, since other kinds of machine say little of this one.
    """

    kind: float = USUAL_OF_KIND
    even: float = USUAL_EVEN
    finer: float = USUAL_OF_FINER


def best_weights(con: duckdb.DuckDBPyConnection, *, until: date) -> Weights:
    """
    The weights under which the log's own fixes, each foretold from those before it, were the most likely.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    until : date
        First day that no longer counts.
    """
    return weights_of(counted_fixes(con, until=until))


def weights_of(counted: pl.DataFrame) -> Weights:
    """
    As `best_weights`, of fixes counted already.

    The chance of all fixes of a group, each foretold from those before it, is the Dirichlet-multinomial one in whatever
    order they came (MacKay and Peto, 1995, as in `pipeline.estimators.back_off`); the coarser group is taken without the
    finer one's own jobs, so that none foretells itself. The best of a grid.

    Parameters
    ----------
    counted : frame
        symptom, unit_type, fault_code, model, subject, action, weight.
    """
    known = counted.filter(pl.col("unit_type").is_not_null())
    if known["weight"].sum() < ENOUGH_TO_CHOOSE:
        return Weights()
    everything = known.group_by("symptom", *LABEL).agg(pl.col("weight").sum())
    of_kind = known.group_by("symptom", "unit_type", *LABEL).agg(pl.col("weight").sum())
    kinds = _Kinds.of(of_kind, everything)
    kind, even = max(product(TRIED_OF_KIND, TRIED_EVEN), key=lambda tried: kinds.log_chance(*tried))
    models = list(_finer(known, of_kind))
    finer = max(TRIED_OF_FINER, key=lambda tried: sum(each.log_chance(tried, kind, even) for each in models))
    return Weights(kind, even, finer if models else USUAL_OF_FINER)


def _log_chance(counts: Floats, lent: Floats, group: Whole) -> float:
    """Log chance of the fixes of all groups under what was lent to each fix (Dirichlet-multinomial, without its constant)."""
    n, a = np.bincount(group, counts), np.bincount(group, lent)
    own = gammaln(lent + counts) - gammaln(lent)
    return float(own.sum() + (gammaln(a) - gammaln(a + n)).sum())


@dataclass(frozen=True)
class _Kinds:
    """Fixes of each kind of machine and symptom, (fixes,), with the share they have of the symptom's other kinds."""

    counts: Floats
    elsewhere: Floats
    group: Whole

    @classmethod
    def of(cls, of_kind: pl.DataFrame, everything: pl.DataFrame) -> _Kinds:
        sizes = everything.group_by("symptom").agg(
            pl.col("weight").sum().alias("jobs"), pl.len().alias("fixes")
        )
        own = pl.col("weight").sum().over("symptom", "unit_type")
        rows = (
            of_kind.join(everything.rename({"weight": "all"}), on=["symptom", *LABEL])
            .join(sizes, on="symptom")
            .with_columns(
                ((pl.col("all") - pl.col("weight") + ROOT) / (pl.col("jobs") - own + ROOT * pl.col("fixes")))
                .clip(1e-9)
                .alias("elsewhere")
            )
        )
        return cls(
            rows["weight"].to_numpy(), rows["elsewhere"].to_numpy(), _numbered(rows, ["symptom", "unit_type"])
        )

    def log_chance(self, kind: float, even: float) -> float:
        return _log_chance(self.counts, kind * self.elsewhere + even, self.group)


@dataclass(frozen=True)
class _Finer:
    """Fixes of each model (or code) of a kind and symptom: every fix of the kind, (fixes,), done on it or not."""

    counts: Floats
    others: Floats
    group: Whole
    fixes: Floats

    def log_chance(self, finer: float, kind: float, even: float) -> float:
        lent = self.others + even + kind / self.fixes
        share = lent / np.bincount(self.group, lent)[self.group]
        return _log_chance(self.counts, finer * share, self.group)


def _finer(known: pl.DataFrame, of_kind: pl.DataFrame) -> Iterator[_Finer]:
    for column in FINER:
        keys = ["symptom", "unit_type", column]
        of_finer = (
            known.filter(pl.col(column).is_not_null())
            .group_by(*keys, *LABEL)
            .agg(pl.col("weight").sum().alias("own"))
        )
        if not of_finer.height:
            continue
        rows = (
            of_finer.select(keys)
            .unique()
            .join(of_kind, on=["symptom", "unit_type"])
            .join(of_finer, on=[*keys, *LABEL], how="left")
            .with_columns(pl.col("own").fill_null(0.0))
            .with_columns(pl.len().over(keys).cast(pl.Float64).alias("fixes"))
        )
        yield _Finer(
            rows["own"].to_numpy(),
            (rows["weight"] - rows["own"]).to_numpy(),
            _numbered(rows, keys),
            rows["fixes"].to_numpy(),
        )


def _numbered(rows: pl.DataFrame, keys: Sequence[str]) -> Whole:
    """Each row's group, numbered."""
    return rows.select(pl.struct(keys).rank("dense").cast(pl.Int64) - 1).to_series().to_numpy()
