"""What a study found in one cell: coverage and bias of the figure, and what the usual naive figure would have said."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class Answers:
    """
    One answer a replicate, arrays (replicates,).

    `truth` is a number or one a replicate; `n_eff` the effective sample (events, for a rate); `sample` the word that is
    printed; `naive` what the usual figure says.
    """

    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    truth: ArrayLike
    n_eff: NDArray[np.float64]
    sample: NDArray[np.str_]
    naive: NDArray[np.float64] | None = None


@dataclass(frozen=True)
class Score:
    """A row of the table; shares between 0 and 1, bias relative to the truth."""

    section: int
    figure: str
    cell: str
    kind: str
    reps: int
    n_eff: float
    truth: float
    coverage: float
    coverage_enough: float
    share_enough: float
    bias: float
    naive_bias: float

    def counts_for_average(self) -> bool:
        """Whether the cell is one of those whose coverage is averaged."""
        return self.kind == "other" and self.n_eff >= 20


def score(section: int, figure: str, cell: str, kind: str, answers: Answers) -> Score:
    """
    Score a cell.

    Parameters
    ----------
    kind : str
        `exact`, `other`, `disturbed` (data that the figure cannot repair, where only the bias is of interest) or `usual`.

    Returns
    -------
    Score
        Over the replicates that had an answer; numbers are NaN where none had.
    """
    truth = np.broadcast_to(np.asarray(answers.truth, dtype=float), answers.value.shape)
    given = np.isfinite(truth)
    if not given.any():
        return Score(section, figure, cell, kind, 0, *[float("nan")] * 7)
    held = (answers.low <= truth) & (truth <= answers.high)
    enough = given & (answers.sample == "enough")
    middle = float(truth[given].mean())
    naive = np.nan if answers.naive is None else float((answers.naive[given] - truth[given]).mean()) / middle
    return Score(
        section,
        figure,
        cell,
        kind,
        int(given.sum()),
        float(answers.n_eff[given].mean()),
        middle,
        float(held[given].mean()),
        float(held[enough].mean()) if enough.any() else float("nan"),
        float(enough.sum() / given.sum()),
        float((answers.value[given] - truth[given]).mean()) / middle,
        naive,
    )


HEADING = (
    "| § | figure | cell | kind | replicates | n_eff (events) | truth | coverage % | of “enough” % | enough % | bias % | naive bias % |\n"
    "|---|---|---|---|---|---|---|---|---|---|---|---|\n"
)


def line(each: Score) -> str:
    """A score as a line of a table in Markdown."""
    shares = (each.coverage, each.coverage_enough, each.share_enough, each.bias, each.naive_bias)
    said = " | ".join("–" if np.isnan(share) else f"{100 * share:.1f}" for share in shares)
    return (
        f"| {each.section} | {each.figure} | {each.cell} | {each.kind} | {each.reps} | {each.n_eff:.0f} | "
        f"{each.truth:.4g} | {said} |\n"
    )
