"""Which procedures do not hold: kind of machine, part and action, against others of the same action (section 12)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.observed_expected import Compared, compare_procedures
from pipeline.estimators.sample import rate_sample
from pipeline.measures.groups import positions
from pipeline.measures.procedure_jobs import DAYS, PROCEDURE, procedure_jobs
from pipeline.measures.procedure_strata import disagreements
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, resolve

GROUPS = PROCEDURE
EXTRAS = (
    *(
        "jobs",
        "observed",
        "expected",
        "ratio",
        "adjusted_p",
        "band",
        "band_without_another_part",
        "looked_at",
    ),
    *("like", "like_jobs", "like_observed", "like_expected"),
    *(
        "another_part_cured",
        "test_run_share",
        "leak_check_share",
        "installation_looked_at_share",
        "mechanism_share",
    ),
    *("minutes_median", "days", "from", "complete_to"),
)

# Columns that may be empty in every row.
_TYPED = (
    pl.col("like").cast(pl.String),
    pl.col("like_jobs", "like_observed").cast(pl.Int64),
    pl.col("like_expected").cast(pl.Float64),
)


def procedures(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Same-fault returns within 90 days observed, over those expected of the other procedures with the same action.

    Raises
    ------
    WrongUseError
        If other groups are asked for: a procedure is a kind of machine, a part and an action.
    CannotAnswerError
        If no fix on a known machine says which part it worked on.
    """
    if set(question.by) - set(GROUPS):
        raise WrongUseError(
            "A procedure is a kind of machine, a part and an action; procedures take no other --by."
        )
    bounds = resolve(con, question, needs_closed_jobs=True)
    records = procedure_jobs(con, bounds)
    if not records.height:
        raise CannotAnswerError(
            "No fix on a known machine says which part it worked on (part, action, outcome, finished_at and the machine), so "
            "procedures cannot be compared."
        )
    keys, at = positions(records, GROUPS)
    compared, right_part = _compare(keys, at, records, question)
    beside = _beside(records, at, len(keys))
    like = disagreements(records, at, compared, question.level)
    rows = [
        {
            **_row(key, place, compared, beside, question=question, bounds=bounds),
            "band_without_another_part": right_part.band[place],
            **like[place],
        }
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, GROUPS, EXTRAS).with_columns(*_TYPED), GROUPS)


def _compare(
    keys: list[dict[str, Any]], at: NDArray[np.int64], records: pl.DataFrame, question: Question
) -> tuple[Compared, Compared]:
    """Each procedure against the others of its action: all returns, and those alone that no other part cured."""
    actions = sorted({key["action"] for key in keys})
    kinds = [actions.index(key["action"]) for key in keys]
    time, back = records["time"].to_numpy(), records["is_back"].to_numpy()
    right = back & ~records["another_part_cured"].to_numpy()
    return (
        compare_procedures(at, kinds, time, back, days=DAYS, level=question.level),
        compare_procedures(at, kinds, time, right, days=DAYS, level=question.level),
    )


def _beside(records: pl.DataFrame, at: NDArray[np.int64], groups: int) -> list[dict[str, Any]]:
    """What else a trainer needs of each procedure."""
    share = {
        f"{name}_share": pl.col(name).mean() for name in ("test_run", "leak_check", "installation_looked_at")
    }
    table = (
        records.with_columns(pl.Series("at", at))
        .group_by("at")
        .agg(
            pl.col("another_part_cured").sum(),
            *(expression.alias(name) for name, expression in share.items()),
            pl.col("has_mechanism").mean().alias("mechanism_share"),
            pl.col("hands_on_min").median().alias("minutes_median"),
        )
        .sort("at")
    )
    found = {row.pop("at"): row for row in table.to_dicts()}
    return [found[place] for place in range(groups)]


def _row(
    key: dict[str, Any],
    at: int,
    compared: Compared,
    beside: list[dict[str, Any]],
    *,
    question: Question,
    bounds: Bounds,
) -> dict[str, Any]:
    alone = float(compared.expected[at]) <= 0.0
    return {
        **key,
        "value": float(compared.ratio[at]),
        "low": float(compared.low[at]),
        "high": float(compared.high[at]),
        "numerator": float(compared.observed[at]),
        "denominator": float(compared.expected[at]),
        "unit": f"returns with the same fault within {DAYS} days, observed over expected",
        "level": question.level,
        "sample": "too few" if alone else str(rate_sample(np.array([compared.observed[at]]))[0]),
        "basis": "fixed jobs on known machines",
        "note": with_note(
            "nothing to compare it with: no other fix of the same action came back" if alone else ""
        ),
        "jobs": int(compared.jobs[at]),
        "observed": int(compared.observed[at]),
        "expected": float(compared.expected[at]),
        "ratio": float(compared.ratio[at]),
        "adjusted_p": float(compared.adjusted_p[at]),
        "band": compared.band[at],
        "looked_at": len(compared.band),
        **beside[at],
        "days": DAYS,
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
