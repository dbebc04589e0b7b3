"""Jobs with a symptom by the fix that was made, from the coarsest group of jobs to the finest, and how far each leans on the one before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.back_off import Chances, chances
from pipeline.measures.symptom_weights import LABEL, Weights
from pipeline.measures.symptom_words import Understood

KIND = "unit_type"


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
        The jobs, counted as `symptom_jobs` gives them, of the kind asked for, or all where it has none.
    finest : frame
        The jobs of the last level.
    names : tuple of str
        What each level is: all kinds, the kind, the code, the model.
    known : tuple of (str, str)
        Column and value that tell each level but the first from the one before it.
    """

    labels: pl.DataFrame
    counts: tuple[NDArray[np.float64], ...]
    of_kind: pl.DataFrame
    finest: pl.DataFrame
    names: tuple[str, ...]
    known: tuple[tuple[str, str], ...]

    @property
    def has_kind(self) -> bool:
        """Whether the second level is the kind of machine."""
        return KIND in dict(self.known)

    @property
    def kind_name(self) -> str:
        """What `of_kind` is."""
        return self.names[int(self.has_kind)]

    def narrowed(self, cells: pl.DataFrame, *, to_kind: bool = False) -> pl.DataFrame:
        """Rows of other cells that belong to the finest level, or to `of_kind`."""
        known = self.known[: int(self.has_kind)] if to_kind else self.known
        return cells.filter(*(pl.col(column) == value for column, value in known))

    def estimate(self, weights: Weights) -> Chances:
        """Chances of the fixes at the finest level, each level leaning on the one before."""
        is_kind = [at == 0 and self.has_kind for at in range(len(self.names) - 1)]
        return chances(
            self.counts,
            [weights.kind if each else weights.finer for each in is_kind],
            [weights.even if each else 0.0 for each in is_kind],
        )

    @classmethod
    def of(cls, jobs: pl.DataFrame, understood: Understood) -> Levels:
        """Count the jobs at the levels that what is known of the machine allows."""
        labels = jobs.select(LABEL).unique().sort(LABEL).with_row_index("at")
        level = jobs.join(labels, on=LABEL, how="left", maintain_order="left")
        counts, names, of_kind = [counted(level, labels.height)], ["any kind of machine"], level
        known = []
        for column, value, name in (
            (KIND, understood.unit_type, "{}"),
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
                known.append((column, value))
                of_kind = level if column == KIND else of_kind
        return cls(labels, tuple(counts), of_kind, level, tuple(names), tuple(known))


def counted(placed: pl.DataFrame, size: int) -> NDArray[np.float64]:
    """Weights of jobs added up by fix."""
    sums = np.bincount(placed["at"].to_numpy(), placed["weight"].to_numpy(), minlength=size)
    return np.asarray(sums, dtype=np.float64)
