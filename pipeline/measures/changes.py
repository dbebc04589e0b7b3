"""Did something change: failures and returns that come faster than they used to, and lots that stand out (section 13)."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.cusum import FEWEST_BEFORE, TUNED_TO, expected_between, limit_for, run_chart
from pipeline.estimators.multiplicity import benjamini_hochberg
from pipeline.estimators.rates import exact_rate
from pipeline.estimators.sample import rate_sample
from pipeline.measures.changes_charts import Watched, failures_of_parts, returns_after_fixes
from pipeline.measures.changes_lots import BLOCK, Lot, lots
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, resolve

GROUPS = ("watched", "unit_type", "model", "part_no", "part_name", "action", "first_on", "last_on")
EXTRAS = (
    *("observed", "expected", "ratio", "band", "told_on", "machines", "before", "adjusted_p", "looked_at"),
    *("serial_blocks", "job_ids", "false_alarms_a_year", "watched_from", "from", "complete_to"),
)
JOBS_NAMED = 5  # whose serials, in the firm's own files, say which block it is
WORTH_A_LOOK, NOTHING_TOLD = "worth a look", "nothing told"
FALSE_ALARMS_A_YEAR = 1.0  # over all charts together
# A chart shares in the false alarms, but never tells by chance more often than this while it is watched.
_MOST = 0.05
ALARM = 0.05
# Before anything is watched, and the most that the baseline ever takes: it does not move on with the log.
_LEAST_BEFORE_DAYS, _MOST_BEFORE_DAYS = 180, 730
_YEAR = 365.25
# Columns that may be empty in every row.
_TYPED = (
    pl.col("model", "action", "unit_type", "job_ids").cast(pl.String),
    pl.col("told_on", "watched_from").cast(pl.Date),
    pl.col("machines", "before", "serial_blocks").cast(pl.Int64),
    pl.col("adjusted_p", "false_alarms_a_year").cast(pl.Float64),
)


def changes(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Charts of failures and returns against their own past, and the lots that stand out.

    The baseline is the first half of the window, two years at most, and stays as it is; the rest is watched. A chart needs
    FEWEST_BEFORE events in its baseline. One row a chart, told or not, and one for each lot that stands out.

    Raises
    ------
    WrongUseError
        If groups are asked for: what is watched is given.
    CannotAnswerError
        If the window is too short, or nothing can be watched.
    """
    if question.by:
        raise WrongUseError(
            "What is watched for changes is given: kinds of machine, parts and actions; it takes no --by."
        )
    bounds = resolve(con, question, needs_closed_jobs=True)
    split_on = _split(bounds)
    basis = _basis(con, question)
    charts = [*returns_after_fixes(con, bounds, split_on)]
    charts += failures_of_parts(con, bounds, split_on, basis) if basis else []
    enough = [chart for chart in charts if chart.before >= FEWEST_BEFORE]
    rows = _chart_rows(enough, len(charts), question=question, bounds=bounds, split_on=split_on)
    rows += _lot_rows(lots(con, bounds, basis) if basis else [], question, bounds)
    if not rows:
        raise CannotAnswerError(
            f"No part and no fix has {FEWEST_BEFORE} failures or returns before {split_on}, so no change could be told from chance."
        )
    return sorted_rows(frame(rows, GROUPS, EXTRAS).with_columns(*_TYPED), GROUPS)


def _basis(con: duckdb.DuckDBPyConnection, question: Question) -> str:
    """The population whose failures are watched: listed machines where there is a list, else machines seen; or none."""
    found = {row[0] for row in con.execute("select distinct basis from facts.exposure").fetchall()}
    asked = {"machine-list": "machine list", "machines-seen": "machines seen"}.get(question.basis or "")
    return next((basis for basis in (asked, "machine list", "machines seen") if basis and basis in found), "")


def _split(bounds: Bounds) -> date:
    days = (bounds.to_on - bounds.from_on).days
    before = min(days // 2, _MOST_BEFORE_DAYS)
    if before < _LEAST_BEFORE_DAYS:
        raise CannotAnswerError(
            f"The window {bounds.window.in_words()} is too short: to tell a change takes {2 * _LEAST_BEFORE_DAYS} days, half of them to know what is usual."
        )
    return bounds.from_on + timedelta(days=before)


def _chart_rows(
    charts: list[Watched], looked_at: int, *, question: Question, bounds: Bounds, split_on: date
) -> list[dict[str, Any]]:
    if not charts:
        return []
    years = (bounds.to_on - split_on).days / _YEAR
    share = min(FALSE_ALARMS_A_YEAR * years / len(charts), _MOST)
    stated = share * len(charts) / years
    left_out = looked_at - len(charts)
    note = f"not watched, with fewer than {FEWEST_BEFORE} before: {left_out}" if left_out else ""
    rows = []
    for chart in charts:
        row = _chart_row(chart, share, split_on, question.level)
        rows.append(
            {
                **row,
                "note": with_note(row["note"], note),
                "looked_at": len(charts),
                "false_alarms_a_year": stated,
                "watched_from": split_on,
                **_window(bounds),
            }
        )
    return rows


def _chart_row(chart: Watched, share: float, split_on: date, level: float) -> dict[str, Any]:
    days = np.arange(len(chart.expected))
    between = expected_between(chart.events, days, chart.expected)
    limit = limit_for(share, float(chart.expected.sum()), chart.before)
    ran = run_chart(between, limit)
    first, note = 0, ""
    if ran.told_at is not None and ran.since_at is not None:
        first = int(chart.events[ran.since_at])
        note = "counted from where the change may have begun: a change that was told looks larger than it is"
    told_on = None if ran.told_at is None else split_on + timedelta(days=int(chart.events[ran.told_at]))
    observed, expected = int((chart.events >= first).sum()), float(chart.expected[first:].sum())
    return {
        **chart.key,
        "first_on": split_on + timedelta(days=first),
        "last_on": split_on + timedelta(days=len(chart.expected) - 1),
        **_figures(observed, expected, level),
        "unit": f"{chart.key['watched']}, observed over expected",
        "basis": f"against its own past; looked for: {TUNED_TO:.0f} times as many",
        "note": note,
        "band": NOTHING_TOLD if told_on is None else WORTH_A_LOOK,
        "told_on": told_on,
        "before": chart.before,
    }


def _lot_rows(found: list[Lot], question: Question, bounds: Bounds) -> list[dict[str, Any]]:
    if not found:
        return []
    adjusted = benjamini_hochberg([lot.run.p for lot in found])
    return [
        {
            **lot.key,
            "first_on": lot.first_on,
            "last_on": lot.last_on,
            **_figures(int(lot.run.observed), lot.run.by_the_rest, question.level),
            "unit": f"failures by {lot.key['watched']}, observed over expected",
            **_against(lot),
            "band": WORTH_A_LOOK,
            "machines": lot.run.items,
            "adjusted_p": float(p),
            "looked_at": len(found),
            **_window(bounds),
        }
        for lot, p in zip(found, adjusted.tolist(), strict=True)
        if p < ALARM
    ]


def _against(lot: Lot) -> dict[str, Any]:
    """What a lot stands beside, and of blocks how many they are and where to read their serials."""
    is_block = lot.key["watched"] == BLOCK
    which = "blocks" if is_block else "weeks"
    return {
        "basis": f"against the other {which}, at the same ages",
        "note": f"the {which} that stand out most: they look worse than they are",
        "serial_blocks": lot.run.last - lot.run.first + 1 if is_block else None,
        "job_ids": ", ".join(lot.job_ids[:JOBS_NAMED]) or None,
    }


def _figures(observed: int, expected: float, level: float) -> dict[str, Any]:
    limits = exact_rate(observed, expected, level)
    alone = expected <= 0.0
    return {
        "value": float(limits.value),
        "low": float(limits.low),
        "high": float(limits.high),
        "numerator": observed,
        "denominator": expected,
        "level": level,
        "sample": "too few" if alone else str(rate_sample(np.array([observed]))[0]),
        "observed": observed,
        "expected": expected,
        "ratio": float(limits.value),
    }


def _window(bounds: Bounds) -> dict[str, Any]:
    return {"from": bounds.window.from_at, "complete_to": bounds.window.complete_to}
