"""Jobs with a symptom by the fix that was made, from the coarsest group of jobs to the finest, and how far each leans on the one before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.back_off import leaning, root
from pipeline.measures.symptom_jobs import SymptomJobs
from pipeline.measures.symptom_words import Understood

KAPPAS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0)
# Where the log's own later jobs do not say better.
USUAL_OF_KIND, USUAL_OF_FINER = 1.0, 16.0
# Jobs in the later part of the log that a weight can be chosen by.
ENOUGH_TO_CHOOSE = 30
EARLIER = 0.7
LABEL = ["subject", "action"]
FINER = ["unit_type", "fault_code", "model"]


@dataclass(frozen=True)
class Weights:
    """
    Jobs that a coarser level lends: to the kind of machine by all kinds, to a code or model by the kind.

    Apart, since other kinds of machine say little of this one, and the kind says much of its models.
    """

    kind: float = USUAL_OF_KIND
    finer: float = USUAL_OF_FINER


@dataclass(frozen=True)
class Levels:
    """
    Jobs by fix at each level, coarsest first; levels without a job are left out.

    Attributes
    ----------
    labels : frame
        subject, action, at (their place in the counts).
    counts : tuple of array, (fixes,)
        Jobs by fix at each level, weighted.
    of_kind : frame
        The jobs of the kind asked for, or all where it has none.
    finest : frame
        The jobs of the last level.
    names : tuple of str
        What each level is: all kinds, the kind, the code, the model.
    has_kind : bool
        Whether the second level is the kind of machine.
    """

    labels: pl.DataFrame
    counts: tuple[NDArray[np.float64], ...]
    of_kind: pl.DataFrame
    finest: pl.DataFrame
    names: tuple[str, ...]
    has_kind: bool

    def steps(self, weights: Weights) -> list[float]:
        """The weight of each level for the next."""
        return [
            weights.kind if at == 0 and self.has_kind else weights.finer for at in range(len(self.names) - 1)
        ]

    @classmethod
    def of(cls, jobs: pl.DataFrame, understood: Understood) -> Levels:
        """Count the jobs at the levels that what is known of the machine allows."""
        labels = jobs.select(LABEL).unique().sort(LABEL).with_row_index("at")
        level = jobs.join(labels, on=LABEL, how="left", maintain_order="left")
        counts, names, of_kind = [counted(level, labels.height)], ["any kind of machine"], level
        has_kind = False
        for column, value, name in (
            ("unit_type", understood.unit_type, "{}"),
            ("fault_code", understood.code, "code {}"),
            ("model", understood.model, "model {}"),
        ):
            if value is None:
                continue
            finer = level.filter(pl.col(column) == value)
            # A code that was never seen with this symptom says nothing, and so does a model.
            if finer.height:
                level = finer
                counts.append(counted(level, labels.height))
                names.append(name.format(value))
                if column == "unit_type":
                    of_kind, has_kind = level, True
        return cls(labels, tuple(counts), of_kind, level, tuple(names), has_kind)


def counted(placed: pl.DataFrame, size: int) -> NDArray[np.float64]:
    """Weights of jobs added up by fix."""
    sums = np.bincount(placed["at"].to_numpy(), placed["weight"].to_numpy(), minlength=size)
    return np.asarray(sums, dtype=np.float64)


def best_weights(found: SymptomJobs) -> Weights:
    """The weights of coarser levels that foretell the later jobs best, by the log score of what was done in them."""
    jobs = found.jobs
    split = int(jobs.height * EARLIER)
    later = jobs.slice(split).filter(~pl.col("came_back"))
    if later.height < ENOUGH_TO_CHOOSE:
        return Weights()
    tried = _Tried.of(jobs.slice(0, split), later)
    best = Weights()
    for tries in ([Weights(kappa) for kappa in KAPPAS], None):
        best = _better(tried, best, tries or [Weights(best.kind, kappa) for kappa in KAPPAS])
    return best


def _better(tried: _Tried, usual: Weights, others: list[Weights]) -> Weights:
    """The best of some, where it is better than the usual by more than its standard error: few jobs choose at random."""
    score = tried.log_scores(usual)
    found = max(others, key=lambda weights: float(tried.log_scores(weights).mean()))
    gain = tried.log_scores(found) - score
    return found if gain.mean() > gain.std(ddof=1) / np.sqrt(gain.size) else usual


@dataclass(frozen=True)
class _Tried:
    """Earlier jobs by fix at each level, for each kind, code and model among the later jobs; and what was done in those."""

    everything: NDArray[np.float64]
    groups: list[tuple[list[tuple[bool, NDArray[np.float64]]], NDArray[np.int64]]]

    @classmethod
    def of(cls, earlier: pl.DataFrame, later: pl.DataFrame) -> _Tried:
        labels = (
            pl.concat([earlier.select(LABEL), later.select(LABEL)]).unique().sort(LABEL).with_row_index("at")
        )
        past = earlier.join(labels, on=LABEL, how="left", maintain_order="left")
        coming = later.join(labels, on=LABEL, how="left", maintain_order="left")
        groups = []
        for key, some in coming.group_by(FINER, maintain_order=True):
            level, levels = past, []
            for column, value in zip(FINER, key, strict=True):
                finer = level.filter(pl.col(column) == value) if value is not None else level.clear()
                # As in the answer itself: a level that says nothing is left out.
                if finer.height:
                    level = finer
                    levels.append((column == FINER[0], counted(level, labels.height)))
            groups.append((levels, some["at"].to_numpy().astype(np.int64)))
        return cls(root(counted(past, labels.height)), groups)

    def log_scores(self, weights: Weights) -> NDArray[np.float64]:
        """Log chance that the earlier jobs gave to what was done in each of the later ones."""
        found = []
        for levels, done in self.groups:
            chance = self.everything
            for is_kind, counts in levels:
                chance = leaning(counts, chance, weights.kind if is_kind else weights.finer)
            found.append(np.log(chance[done]))
        return np.concatenate(found)
