"""No fault found: how often, and how often the machine is reported again all the same (measure book, section 8)."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.sample import TOO_FEW
from pipeline.measures.groups import WORK, Grouping, fullest, job_grouping, positions
from pipeline.measures.no_fault_repeats import COLUMNS, IS_NO_FAULT, follow_ups, repeats_of
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.shares import UNIT, refuse_where_never_said, share_rows, sums_of
from pipeline.measures.window import Bounds, resolve

OUTSIDE = ("value_outside", "low_outside", "high_outside", "numerator_outside", "sample_outside")
EXTRAS = (*COLUMNS, *OUTSIDE, "days", "from", "complete_to")


def no_fault_found(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Share of attended fault jobs in which no fault was found; beside it, how often those machines were back.

    And the share in which the cause was found outside the machine (`…_outside`, of the same jobs).

    Raises
    ------
    CannotAnswerError
        If the log never says that no fault was found, or no job was attended in the window.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    groups = job_grouping(question.by, dated="j.reported_on", people=question.people)
    refuse_where_never_said(con, "no fault found")
    records = fullest(_records(con, groups, bounds), groups.names, question.most)
    if not records.height:
        raise CannotAnswerError(f"No attended fault job was reported {bounds.window.in_words()}.")
    keys, at = positions(records, groups.names)
    share, outside = _shares(records, at, len(keys), question.level)
    followed = records.with_columns(at=at).join(follow_ups(con, bounds), on="job_no", maintain_order="left")
    back = repeats_of(followed, len(keys), question)
    rows = [
        {
            **key,
            **share[place],
            "unit": "share of attended jobs",
            "basis": "attended fault jobs reported in the window; an outside cause is a finding",
            **_repeat_columns(back[place], int(share[place]["numerator"]), question),
            **_outside_columns(outside[place]),
            "from": bounds.window.from_at,
            "complete_to": bounds.window.complete_to,
        }
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def _shares(
    records: pl.DataFrame, at: NDArray[np.int64], groups: int, level: float
) -> tuple[list[dict[str, Any]], ...]:
    """Shares without a finding, and with a cause outside the machine, from what each machine adds."""
    kinds = ("is_no_fault", "is_outside")
    machines = (
        records.with_columns(at=at).group_by("at", "unit").agg(pl.col(kinds).sum(), pl.len().alias("jobs"))
    )
    place = machines["at"].to_numpy()
    return tuple(
        share_rows(sums_of(place, groups, machines[kind], machines["jobs"]), level) for kind in kinds
    )


def _records(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """One row per attended fault job and group: whether no fault was found."""
    sql = f"""
    with {WORK}
    select {groups.select} j.job_no, {UNIT} as unit, {IS_NO_FAULT} as is_no_fault,
        j.job_no in (select job_no from facts.outside_causes) as is_outside
    from tables.jobs as j {groups.work_join}
    where j.is_fault and j.last_attended_no is not null
        and j.reported_at >= $from_utc and j.reported_at < $to_utc
    order by all
    """
    return ask(con, sql, bounds.parameters)


def _outside_columns(row: dict[str, Any]) -> dict[str, Any]:
    """Share of the jobs whose cause lay outside the machine."""
    value = None if row["sample"] == TOO_FEW else row["value"]
    return {f"{name}_outside": row[name] for name in ("low", "high", "numerator", "sample")} | {
        "value_outside": value
    }


def _repeat_columns(back: dict[str, Any] | None, hits: int, question: Question) -> dict[str, Any]:
    """Repeat rate of the jobs without a finding, and what stands in its way."""
    nobody: dict[str, Any] = {
        "value_repeat": None,
        "low_repeat": 0.0,
        "high_repeat": 1.0,
        "numerator_repeat": 0,
        "denominator_repeat": 0,
        "sample_repeat": TOO_FEW,
    }
    columns: dict[str, Any] = back or nobody
    unseen = hits - int(columns["denominator_repeat"])
    return {
        **columns,
        "days": question.days,
        "note": with_note(
            f"repeat: {question.kind.replace('-', ' ')} within {question.days} days",
            f"{unseen} without a known machine or a finish in the window not followed" if unseen else "",
        ),
    }
