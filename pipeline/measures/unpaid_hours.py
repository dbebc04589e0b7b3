"""Unpaid hours per 100 jobs: trips and repairs that nobody pays for (measure book, section 8)."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.bootstrap import Estimate, bootstrap_figures
from pipeline.estimators.sample import ENOUGH, RATE_MIN_EVENTS, ROUGH, TOO_FEW, mean_sample, rate_sample
from pipeline.measures.groups import positions
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.unpaid_visits import KINDS, unpaid_jobs
from pipeline.measures.window import Bounds, resolve

HOURS = tuple(f"hours_{kind}" for kind in KINDS)
LIMITS = tuple(f"{end}_{kind}" for kind in KINDS for end in ("low", "high"))
EXTRAS = (*HOURS, *LIMITS, "unpaid_jobs", *(f"jobs_{kind}" for kind in KINDS), "from", "complete_to")


def unpaid_hours(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Hours nobody pays for, per 100 fault jobs reported in the window, in all and by kind.

    Raises
    ------
    CannotAnswerError
        If the log records no minutes, or nothing that tells an unpaid visit from a paid one.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    missing = _not_recorded(con)
    records, names = unpaid_jobs(con, question, bounds)
    if not records.height:
        raise CannotAnswerError(f"There is no fault job reported {bounds.window.in_words()}.")
    keys, at = positions(records, names)
    sums = _sums(records, at, len(keys))
    limits = _limits(records, at, question.level)
    rows = [
        _row(key, sums[place], limits[place], missing=missing, question=question, bounds=bounds)
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _not_recorded(con: duckdb.DuckDBPyConnection) -> str:
    """What the log never records, in words; refuses where too little is left."""
    sql = """
    select count(coalesce(v.hands_on_min, v.travel_min)), count(v.travel_min),
        count(coalesce(v.charge_minor, v.callout_charge_minor, v.labour_charge_minor, v.part_charge_minor)),
        count(v.payer), count(*) filter (where v.outcome in ('no access', 'cancelled'))
    from tables.visits as v join tables.jobs as j on j.job_no = v.job_no
    where j.is_fault
    """
    minutes, travels, charges, payers, in_vain = con.execute(sql).fetchall()[0]
    if not minutes:
        raise CannotAnswerError(
            "The log records no minutes of a visit (hands_on_min, travel_min), so unpaid hours cannot be counted."
        )
    if not (charges or payers or in_vain):
        raise CannotAnswerError(
            "The log records neither who pays nor what was charged (payer, charge) nor a visit in vain, so unpaid hours cannot be told."
        )
    return with_note(
        "" if travels else "no travel recorded: a floor",
        "" if charges else "no charge recorded, so uncharged no-fault jobs show only by payer",
        "" if payers else "no payer recorded, so own-guarantee returns do not show",
    )


def _sums(records: pl.DataFrame, at: NDArray[Any], groups: int) -> list[dict[str, float]]:
    """Each group's jobs, unpaid jobs, hours by kind, and visits that cannot be counted whole."""
    columns = {name: records[name].to_numpy() for name in records.columns if name not in ("unit", "job_no")}
    numbers = (*HOURS, "unpaid_visits", "visits_without_minutes", "charge_unknown")
    totals = {name: np.bincount(at, weights=columns[name], minlength=groups) for name in numbers}
    totals["jobs"] = np.bincount(at, minlength=groups).astype(np.float64)
    for kind in KINDS:
        totals[f"jobs_{kind}"] = np.bincount(at, weights=columns[f"hours_{kind}"] > 0.0, minlength=groups)
    totals["unpaid_jobs"] = np.bincount(at, weights=_hours(records) > 0.0, minlength=groups)
    return [{name: float(total[place]) for name, total in totals.items()} for place in range(groups)]


def _hours(records: pl.DataFrame) -> NDArray[np.float64]:
    return records.select(pl.sum_horizontal(HOURS)).to_series().to_numpy()


def _limits(records: pl.DataFrame, at: NDArray[Any], level: float) -> list[Estimate]:
    """
    Bootstrap by machine (the job itself where none is known) of hours per 100 jobs, group by group.

    The first figure is all hours together, the rest are those of each kind.
    """
    pairs, place = np.unique(np.column_stack([at, records["unit"].to_numpy()]), axis=0, return_inverse=True)
    place = place.reshape(-1)
    hours = [_hours(records), *(records[name].to_numpy() for name in HOURS)]
    by_unit = np.column_stack([*(np.bincount(place, weights=kind) for kind in hours), np.bincount(place)])
    starts = np.searchsorted(pairs[:, 0], np.arange(int(pairs[-1, 0]) + 2))
    return [
        bootstrap_figures(by_unit[first:last], lambda sums: 100.0 * sums[:, :-1] / sums[:, -1:], level=level)
        for first, last in pairwise(starts)
    ]


def _between(limits: Estimate, figure: int, value: float, unpaid_jobs: float) -> tuple[float, float]:
    # Drawn again, one or two jobs say nothing of how many more there could have been.
    if unpaid_jobs < RATE_MIN_EVENTS:
        return 0.0, float("inf")
    return min(max(float(limits.low[figure]), 0.0), value), max(float(limits.high[figure]), value)


def _row(
    key: dict[str, Any],
    sums: dict[str, float],
    limits: Estimate,
    *,
    missing: str,
    question: Question,
    bounds: Bounds,
) -> dict[str, Any]:
    hours, jobs = sum(sums[name] for name in HOURS), sums["jobs"]
    words = {str(mean_sample(int(jobs))), str(rate_sample(int(sums["unpaid_jobs"])))}
    sample = next(word for word in (TOO_FEW, ROUGH, ENOUGH) if word in words)
    value = 100.0 * hours / jobs
    low, high = _between(limits, 0, value, sums["unpaid_jobs"])
    kinds: dict[str, float] = {}
    for figure, kind in enumerate(KINDS, start=1):
        each = 100.0 * sums[f"hours_{kind}"] / jobs
        ends = _between(limits, figure, each, sums[f"jobs_{kind}"])
        kinds |= {f"hours_{kind}": each, f"low_{kind}": ends[0], f"high_{kind}": ends[1]}
        kinds[f"jobs_{kind}"] = int(sums[f"jobs_{kind}"])
    return {
        **key,
        "value": value,
        "low": low,
        "high": high,
        "numerator": hours,
        "denominator": jobs,
        "unit": "hours per 100 jobs",
        "level": question.level,
        "sample": sample,
        "basis": "fault jobs reported in the window; hours on the machine and of travel as recorded",
        "note": with_note(missing, _incomplete(sums)),
        **kinds,
        "unpaid_jobs": int(sums["unpaid_jobs"]),
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }


def _incomplete(sums: dict[str, float]) -> str:
    without, unknown = int(sums["visits_without_minutes"]), int(sums["charge_unknown"])
    return with_note(
        f"{without} of {int(sums['unpaid_visits'])} unpaid visits have no minutes: a floor"
        if without
        else "",
        f"no-fault jobs without a recorded charge, not counted: {unknown}" if unknown else "",
    )
