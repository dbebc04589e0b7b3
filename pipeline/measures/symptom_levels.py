"""Jobs with a symptom by the fix that was made, from the coarsest group of jobs to the finest, and how far each leans on the one before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.back_off import leaning, root
from pipeline.measures.symptom_jobs import SymptomJobs
from pipeline.measures.symptom_words import Understood

KAPPAS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
USUAL_KAPPA = 8.0
# Jobs in the later part of the log that a weight can be chosen by.
ENOUGH_TO_CHOOSE = 30
EARLIER = 0.7
LABEL = ["subject", "action"]


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
    """

    labels: pl.DataFrame
    counts: tuple[NDArray[np.float64], ...]
    of_kind: pl.DataFrame
    finest: pl.DataFrame
    names: tuple[str, ...]

    @classmethod
    def of(cls, jobs: pl.DataFrame, understood: Understood) -> Levels:
        """Count the jobs at the levels that what is known of the machine allows."""
        labels = jobs.select(LABEL).unique().sort(LABEL).with_row_index("at")
        level = jobs.join(labels, on=LABEL, how="left", maintain_order="left")
        counts, names, of_kind = [counted(level, labels.height)], ["any kind of machine"], level
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
                of_kind = level if column == "unit_type" else of_kind
        return cls(labels, tuple(counts), of_kind, level, tuple(names))


def counted(placed: pl.DataFrame, size: int) -> NDArray[np.float64]:
    """Weights of jobs added up by fix."""
    sums = np.bincount(placed["at"].to_numpy(), placed["weight"].to_numpy(), minlength=size)
    return np.asarray(sums, dtype=np.float64)


def best_kappa(found: SymptomJobs, understood: Understood) -> float:
    """The weight of a coarser level that foretells the later jobs best, by the log score of what was done in them."""
    jobs = found.jobs
    split = int(jobs.height * EARLIER)
    later = jobs.slice(split).filter(~pl.col("came_back"))
    if later.height < ENOUGH_TO_CHOOSE or understood.unit_type is None:
        return USUAL_KAPPA
    earlier = jobs.slice(0, split)
    scores = {kappa: _log_score(earlier, later, kappa) for kappa in KAPPAS}
    return max(scores, key=lambda kappa: (scores[kappa], -kappa))


def _log_score(earlier: pl.DataFrame, later: pl.DataFrame, kappa: float) -> float:
    """Mean log chance that earlier jobs gave to what was done in later ones, each within its kind of machine and model."""
    labels = pl.concat([earlier.select(LABEL), later.select(LABEL)]).unique().sort(LABEL).with_row_index("at")
    past = earlier.join(labels, on=LABEL, how="left", maintain_order="left")
    coming = later.join(labels, on=LABEL, how="left", maintain_order="left")
    everything = root(counted(past, labels.height))
    total = 0.0
    for (kind, model), some in coming.group_by("unit_type", "model", maintain_order=True):
        of_kind = past.filter(pl.col("unit_type") == kind)
        chance = leaning(counted(of_kind, labels.height), everything, kappa)
        if model is not None:
            chance = leaning(counted(of_kind.filter(pl.col("model") == model), labels.height), chance, kappa)
        total += float(np.log(chance[some["at"].to_numpy()]).sum())
    return total / coming.height
