"""What a trainer needs to know of one procedure: symptoms, when, after which checks, and what is or is not recorded."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.estimators.between import differ_p
from pipeline.measures.procedure_jobs import DAYS, PROCEDURE, procedure_jobs
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve

RECORDED = ("test_run", "leak_check", "installation_looked_at")
_DIFFERS_BELOW = 0.01  # many procedures may be opened one after the other


@dataclass(frozen=True)
class Split:
    """Jobs of one kind, and how many of them came back."""

    name: str
    back: int
    jobs: int


@dataclass(frozen=True)
class ProcedureDetail:
    """
    One procedure, told without naming anybody.

    Attributes
    ----------
    jobs, back : int
    symptoms, checks : tuple of Split
        Most jobs first; `checks` by check made, and without any.
    recorded : dict of str to (Split, Split)
        For test run, leak check, look at the installation and way of failing: recorded as done, and all others.
    days : tuple of int
        Days to each return, ascending.
    minutes, minutes_of_others : float or None
        Medians of the time on the machine: this procedure, all others with the same action.
    another_part, taken_out_again : int
        Returns that work on another part cured; returns in which the part was taken out again.
    unpaid_hours : tuple of float
        Hours nobody pays for, of each return that was followed to its end.
    by : dict of str to tuple of Split
        By age band and by make, most jobs first: what a total may hide.
    differs : float or None
        Chance that it is done alike by all hands, where enough have done it.
    """

    jobs: int
    back: int
    symptoms: tuple[Split, ...]
    checks: tuple[Split, ...]
    recorded: dict[str, tuple[Split, Split]]
    days: tuple[int, ...]
    minutes: float | None
    minutes_of_others: float | None
    another_part: int
    taken_out_again: int
    unpaid_hours: tuple[float, ...]
    differs: float | None
    by: dict[str, tuple[Split, ...]] = field(default_factory=dict)

    @property
    def is_done_differently(self) -> bool:
        """Whether it is surely not done alike by all hands."""
        return self.differs is not None and self.differs < _DIFFERS_BELOW


def procedure_detail(
    con: duckdb.DuckDBPyConnection, key: dict[str, Any], question: Question
) -> ProcedureDetail:
    """
    Everything about the procedure with the values of PROCEDURE in `key`.

    Raises
    ------
    CannotAnswerError
        If the window is empty.
    """
    bounds: Bounds = resolve(con, question, needs_closed_jobs=True)
    records = procedure_jobs(con, bounds)
    is_it = pl.all_horizontal(pl.col(name).eq_missing(pl.lit(key[name])) for name in PROCEDURE)
    mine = records.filter(is_it)
    others = records.filter(~is_it & (pl.col("action") == key["action"]))
    back = mine.filter(pl.col("is_back"))
    recorded = {name: _both(mine, name, pl.col(name).fill_null(value=False)) for name in RECORDED}
    recorded["mechanism"] = _both(mine, "mechanism", pl.col("has_mechanism").fill_null(value=False))
    return ProcedureDetail(
        jobs=mine.height,
        back=back.height,
        symptoms=_splits(mine.with_columns(pl.col("symptom").fill_null("symptom not recorded")), "symptom"),
        checks=_splits(
            mine.with_columns(
                pl.when(pl.col("checks").list.len() > 0)
                .then(pl.col("checks"))
                .otherwise(pl.lit(["no check recorded"]))
            ).explode("checks"),
            "checks",
        ),
        recorded=recorded,
        days=tuple(sorted(back["time"].to_list())),
        minutes=_median(mine),
        minutes_of_others=_median(others),
        another_part=int((back["another_part_cured"]).sum()),
        taken_out_again=int((back["taken_out_again"]).sum()),
        unpaid_hours=tuple(minutes / 60.0 for minutes in back["unpaid_min"].drop_nulls().to_list()),
        differs=_differs(mine),
        by={name: _splits(mine.filter(pl.col(name).is_not_null()), name) for name in ("age_band", "make")},
    )


def _both(jobs: pl.DataFrame, name: str, is_done: pl.Expr) -> tuple[Split, Split]:
    done, rest = jobs.filter(is_done), jobs.filter(~is_done)
    return _split(name, done), _split(f"no {name}", rest)


def _split(name: str, jobs: pl.DataFrame) -> Split:
    return Split(name, int(jobs["is_back"].sum()), jobs.height)


def _splits(jobs: pl.DataFrame, by: str) -> tuple[Split, ...]:
    table = (
        jobs.group_by(by)
        .agg(pl.col("is_back").sum(), pl.len().alias("jobs"))
        .sort("jobs", by, descending=[True, False])
    )
    return tuple(Split(str(name), int(back), int(count)) for name, back, count in table.iter_rows())


def _median(jobs: pl.DataFrame) -> float | None:
    middle = jobs["hands_on_min"].median()
    return None if middle is None else float(np.asarray(middle))


def _differs(jobs: pl.DataFrame) -> float | None:
    known = jobs.drop_nulls("technician")
    if not known.height:
        return None
    hand = known["technician"].rank("dense").cast(pl.Int64) - 1
    kind = known["symptom"].fill_null("").rank("dense").cast(pl.Int64) - 1
    # Returns come early: a job followed half the days has had more than half of its chance, but alike for all hands.
    due = np.minimum(known["time"].to_numpy(), DAYS) / DAYS
    due = np.where(known["is_back"].to_numpy(), 1.0, np.maximum(due, 1.0 / DAYS))
    return differ_p(hand.to_numpy(), kind.to_numpy(), known["is_back"].to_numpy(), due)
