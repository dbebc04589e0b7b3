"""How far the chances of a fix lean on coarser groups of jobs: learnt from the log itself, all of its symptoms together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import product

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.back_off import ROOT
from pipeline.measures.symptom_jobs import counted_fixes

Floats = NDArray[np.float64]

# Where the log has too few fixes to say.
USUAL_OF_KIND, USUAL_EVEN, USUAL_OF_FINER = 1.0, 1.0, 16.0
ENOUGH_TO_CHOOSE = 30  # later fixes, of all symptoms
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
    The weights under which the log's own later fixes would have been foretold best from the earlier ones.

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
    As `best_weights`, of fixes counted already: the best log score of each period's fixes, learnt from those before it.

    Scored is what an answer says: fixes seen on the kind, and everything else together. The best of a grid, first how the
    kind leans, then the finer groups.

    Parameters
    ----------
    counted : frame
        symptom, unit_type, fault_code, model, period, subject, action, weight.
    """
    known = counted.filter(pl.col("unit_type").is_not_null())
    cuts = range(1, 1 + int(known["period"].max() or 0)) if known.height else range(0)  # type: ignore[arg-type]
    tried = [_Later.of(known, cut) for cut in cuts]
    if sum(each.jobs.sum() for each in tried) < ENOUGH_TO_CHOOSE:
        return Weights()
    kind, even = max(
        product(TRIED_OF_KIND, TRIED_EVEN), key=lambda pair: sum(each.log_score(*pair) for each in tried)
    )
    finer = [_Finer.of(known, cut, column) for cut in cuts for column in FINER]
    if sum(each.later.jobs.sum() for each in finer) < ENOUGH_TO_CHOOSE:
        return Weights(kind, even)
    return Weights(
        kind,
        even,
        max(TRIED_OF_FINER, key=lambda weight: sum(each.log_score(kind, even, weight) for each in finer)),
    )


@dataclass(frozen=True)
class _Later:
    """
    Fixes of a period, counted, with what was known before it of their symptom and kind.

    Attributes
    ----------
    jobs : array, (rows,)
    own, total, fixes : array, (rows,)
        Earlier jobs of the kind with this fix, with any, and how many fixes they are.
    before, seen : array, (rows,)
        Chance by all kinds together: of this fix, of all those seen on the kind.
    other : array, (rows,)
        Chance of something else.
    """

    jobs: Floats
    own: Floats
    total: Floats
    fixes: Floats
    before: Floats
    seen: Floats
    other: Floats

    @classmethod
    def of(cls, known: pl.DataFrame, cut: int) -> _Later:
        return cls.of_rows(known.filter(pl.col("period") == cut), _kinds(known, cut))

    @classmethod
    def of_rows(cls, later: pl.DataFrame, kinds: pl.DataFrame) -> _Later:
        group = ["symptom", "unit_type"]
        own = kinds.select(*group, *LABEL, "own", "before")
        totals = kinds.select(*group, "total", "fixes", "seen", "other").unique()
        rows = later.join(totals, on=group, maintain_order="left").join(
            own, on=[*group, *LABEL], how="left", maintain_order="left"
        )
        rows = rows.with_columns(pl.col("own", "before").fill_null(0.0))
        return cls(
            *(
                rows[name].to_numpy()
                for name in ("weight", "own", "total", "fixes", "before", "seen", "other")
            )
        )

    def of_kind(self, kind: float, even: float) -> tuple[Floats, Floats]:
        """Chance of each fix, and of all fixes seen, by the kind."""
        jobs = self.total + kind + even * self.fixes
        own = self.own + kind * self.before + np.where(self.own > 0.0, even, 0.0)
        return own / jobs, (self.total + kind * self.seen + even * self.fixes) / jobs

    def score(self, chance: Floats, seen: Floats) -> float:
        """Log score where these are the chances of each fix and of all fixes seen."""
        rest = 1.0 - (1.0 - self.other) * seen
        given = np.where(self.own > 0.0, (1.0 - self.other) * chance, rest)
        return float((self.jobs * np.log(given)).sum())

    def log_score(self, kind: float, even: float) -> float:
        return self.score(*self.of_kind(kind, even))


@dataclass(frozen=True)
class _Finer:
    """Later fixes on models (or under codes) that were there before, with the model's earlier jobs: with this fix, with any."""

    later: _Later
    own: Floats
    total: Floats

    @classmethod
    def of(cls, known: pl.DataFrame, cut: int, column: str) -> _Finer:
        group = ["symptom", "unit_type", column]
        past = known.filter((pl.col("period") < cut) & pl.col(column).is_not_null())
        own = past.group_by(*group, *LABEL).agg(pl.col("weight").sum().alias("finer_own"))
        totals = past.group_by(group).agg(pl.col("weight").sum().alias("finer_of"))
        later = (
            known.filter(pl.col("period") == cut)
            .join(totals, on=group)
            .join(own, on=[*group, *LABEL], how="left")
            .with_columns(pl.col("finer_own").fill_null(0.0))
        )
        return cls(
            _Later.of_rows(later, _kinds(known, cut)),
            later["finer_own"].to_numpy(),
            later["finer_of"].to_numpy(),
        )

    def log_score(self, kind: float, even: float, finer: float) -> float:
        chance, seen = self.later.of_kind(kind, even)
        jobs = self.total + finer
        return self.later.score((self.own + finer * chance) / jobs, (self.total + finer * seen) / jobs)


def _kinds(known: pl.DataFrame, cut: int) -> pl.DataFrame:
    """Fixes of each symptom and kind before a period: own, total, fixes, before, seen, other."""
    past = known.filter(pl.col("period") < cut)
    everything = past.group_by("symptom", *LABEL).agg(pl.col("weight").sum().alias("all"))
    everything = everything.with_columns(
        ((pl.col("all") + ROOT) / (pl.col("all") + ROOT).sum().over("symptom")).alias("before")
    )
    group = ["symptom", "unit_type"]
    own = past.group_by(*group, *LABEL).agg(pl.col("weight").sum().alias("own"))
    once = (pl.col("own") == 1.0).sum().over(group)
    return own.join(everything, on=["symptom", *LABEL]).with_columns(
        pl.col("own").sum().over(group).alias("total"),
        pl.len().over(group).cast(pl.Float64).alias("fixes"),
        pl.col("before").sum().over(group).alias("seen"),
        pl.min_horizontal(0.5, (once + 0.5) / (pl.col("own").sum().over(group) + 1.0)).alias("other"),
    )
