"""What a fix earns once its returns are counted, by part and action (measure book, section 11)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.bootstrap import Estimate, bootstrap_figures
from pipeline.estimators.competing import CENSORED, Probability, incidence_of_records
from pipeline.estimators.resampled import COMPETING, EVENT, KINDS, LAST_SEEN, ends_by_unit, incidence
from pipeline.estimators.sample import ENOUGH, RATE_MIN_EVENTS, ROUGH, TOO_FEW, mean_sample, proportion_sample
from pipeline.measures.fix_jobs import MONEY, fix_jobs
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.groups import job_grouping, positions
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.terms import HOW_TO_SET, Terms, terms_of
from pipeline.measures.window import Bounds, resolve
from pipeline.planning.payoff import Fix, hours_with_returns, per_hour, per_job

DEFAULT_BY = ("part_no", "action")
# Machines drawn one by one; their days of follow-up are held side by side, some 45 MB of them.
MOST_UNITS = 20_000
FIGURES = ("per_hour", "per_job", "hours_with_returns")
EXTRAS = (
    *("per_job", "low_per_job", "high_per_job", "jobs", "margin", "hours"),
    *("return_probability", "low_return", "high_return", "returns", "return_cost", "return_hours"),
    *("unpaid_hours", "wasted_trips", "done_together", "days", "from", "complete_to"),
)


@dataclass(frozen=True)
class _Asked:
    """What holds for every row of one answer."""

    question: Question
    terms: Terms
    bounds: Bounds
    note: str


def fix_payoff(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Margin of an hour, and of a job where `hour_costs` is set, after the unpaid returns that a fix starts.

    Payer and currency are always groups: payers pay by different rules, and currencies are never added.

    Raises
    ------
    CannotAnswerError
        If the log records no charges, no minutes or no machines.
    """
    bounds, terms = resolve(con, question, needs_closed_jobs=True), terms_of(con, question)
    groups = job_grouping(question.by or DEFAULT_BY, dated="j.finished_on", people=question.people)
    records, left_out = fix_jobs(con, groups, bounds, terms)
    names = (*groups.names, *(name for name in MONEY if name not in groups.names))
    keys, at = positions(records, names)
    time, cause = first_end(records)
    returns = incidence_of_records(
        at, time, cause, records["machine_no"].to_numpy(), groups=len(keys), day=terms.guarantee_days,
        n_causes=3, causes=(SAME_FAULT,), level=question.level,
    )  # fmt: skip
    asked = _Asked(question, terms, bounds, left_out)
    usual = _usual_return(records, time, cause, terms.guarantee_days)
    pieces = _pieces(records, time, cause, at)
    rows = [
        _row(key, piece, returns, place, usual=usual[_purse(key)], asked=asked)
        for place, (key, piece) in enumerate(zip(keys, pieces, strict=True))
    ]
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _purse(key: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(key[name] for name in MONEY)


def _pieces(
    records: pl.DataFrame, time: NDArray[Any], cause: NDArray[Any], at: NDArray[np.int64]
) -> Iterator[dict[str, NDArray[Any]]]:
    """Columns of the records as arrays, group by group."""
    plain = ("margin", "hours", "chain_hours", "chain_cost", "wasted_trips", "wasted_hours", "is_together")
    columns: dict[str, NDArray[Any]] = {name: records[name].to_numpy().astype(np.float64) for name in plain}
    columns |= {"machine_no": records["machine_no"].to_numpy(), "time": time, "cause": cause}
    order = np.argsort(at, kind="stable")
    for rows in np.split(order, np.cumsum(np.bincount(at))[:-1]):
        yield {name: column[rows] for name, column in columns.items()}


def _usual_return(
    records: pl.DataFrame, time: NDArray[Any], cause: NDArray[Any], days: int
) -> dict[tuple[Any, ...], tuple[float, float]]:
    """Direct cost and hours of one return over all fixes of a payer and currency, for fixes with hardly any of their own."""
    came = records.filter(pl.Series((cause == SAME_FAULT) & (time <= days)))
    # A job stands in the row of each part it worked on; its return is one.
    means = (
        came.unique(["job_no"], maintain_order=True)
        .group_by(MONEY)
        .agg(pl.col("chain_cost").mean(), pl.col("chain_hours").mean())
    )
    found = {tuple(row[:2]): (float(row[2]), float(row[3])) for row in means.iter_rows()}
    purses = records.select(MONEY).unique().iter_rows()
    return {purse: found.get(purse, (0.0, 0.0)) for purse in purses}


def _sums(piece: dict[str, NDArray[Any]], days: int) -> NDArray[np.float64]:
    """What each machine adds: ends by day and kind, then jobs, margins, hours, returns, and what those cost."""
    _, unit = np.unique(piece["machine_no"], return_inverse=True)
    # Bundles of machines are as good to draw from as machines, once there are so many.
    unit = unit.reshape(-1) % MOST_UNITS
    units = int(unit.max()) + 1
    kind = np.select(
        [piece["cause"] == SAME_FAULT, piece["cause"] == CENSORED], [EVENT, LAST_SEEN], COMPETING
    )
    came = (kind == EVENT) & (piece["time"] <= days)
    ends = ends_by_unit(unit, np.zeros_like(unit), piece["time"], kind, units=units, slots=1, days=days)
    has_margin, has_hours = np.isfinite(piece["margin"]), np.isfinite(piece["hours"])
    columns = (
        np.ones(len(unit)), has_margin, np.where(has_margin, piece["margin"], 0.0), has_hours,
        np.where(has_hours, piece["hours"], 0.0), came, came * piece["chain_cost"], came * piece["chain_hours"],
    )  # fmt: skip
    totals = [
        np.bincount(unit, weights=np.asarray(column, dtype=np.float64), minlength=units) for column in columns
    ]
    return np.column_stack([ends.toarray(), *totals])


def _fix(sums: NDArray[np.float64], days: int, one_return: tuple[float, float] | None) -> Fix:
    """The fix that sums over machines make, one entry a resample; `one_return` where it has too few of its own."""
    cells = (days + 1) * KINDS
    ends = sums[:, :cells].reshape(-1, days + 1, KINDS)
    n, with_margin, margin, with_hours, hours, came, cost, chain = sums[:, cells:].T
    # A resample without a single known margin or time says nothing of it: it takes that of all resamples together.
    mean_margin = np.where(
        with_margin > 0, margin / np.maximum(with_margin, 1), margin.sum() / max(with_margin.sum(), 1)
    )
    mean_hours = np.where(
        with_hours > 0, hours / np.maximum(with_hours, 1), hours.sum() / max(with_hours.sum(), 1)
    )
    direct, more = one_return or (cost / np.maximum(came, 1), chain / np.maximum(came, 1))
    return Fix(mean_margin, mean_hours, incidence(ends, n), direct, more)


def _figures(fix: Fix, hour_costs: float) -> NDArray[np.float64]:
    return np.column_stack([per_hour(fix), per_job(fix, hour_costs), hours_with_returns(fix)])


def _row(
    key: dict[str, Any],
    piece: dict[str, NDArray[Any]],
    returns: Probability,
    at: int,
    *,
    usual: tuple[float, float],
    asked: _Asked,
) -> dict[str, Any]:
    days, hour_costs = asked.terms.guarantee_days, asked.terms.hour_costs
    known = min(int(np.isfinite(piece["margin"]).sum()), int(np.isfinite(piece["hours"]).sum()))
    events = int(returns.events[at])
    one_return = usual if events < RATE_MIN_EVENTS else None
    base = {**key, **_counts(piece, returns, at, known, asked)}
    if known == 0 or not np.nansum(piece["hours"]):
        return {
            **base,
            "sample": TOO_FEW,
            "note": with_note(base["note"], "no job with both charge and minutes"),
        }
    sums = _sums(piece, days)
    whole = _fix(sums.sum(axis=0, keepdims=True), days, one_return)
    found = bootstrap_figures(
        sums,
        lambda drawn: _figures(_fix(drawn, days, one_return), hour_costs or 0.0),
        level=asked.question.level,
    )
    if one_return is not None:
        found = _with_unseen_returns(found, whole, returns, at, hour_costs or 0.0)
    g, t, q, c, h = (float(np.asarray(part).reshape(-1)[0]) for part in whole)
    jobs = len(piece["time"])
    return {
        **base,
        **_limits(found, hour_costs),
        "numerator": (g - q * c) * jobs,
        "denominator": (t + q * h) * jobs,
        "margin": g,
        "hours": t,
        "return_cost": c,
        "return_hours": h,
        "unpaid_hours": q * h + float(piece["wasted_hours"].sum()) / jobs,
        "note": with_note(
            base["note"],
            f"fewer than {RATE_MIN_EVENTS} returns: one return costs what it does after all fixes"
            if one_return
            else "",
            "a return would leave the firm money under this pricing: no ground for advice"
            if c + h * (hour_costs or 0.0) < 0.0
            else "",
        ),
    }


def _with_unseen_returns(
    found: Estimate, fix: Fix, returns: Probability, at: int, hour_costs: float
) -> Estimate:
    """Machines drawn again say nothing of returns that were not seen: the range of their probability does."""
    ends = [
        _figures(fix._replace(return_probability=np.array([limit[at]])), hour_costs)[0]
        for limit in (returns.low, returns.high)
    ]
    low, high = np.minimum(*ends), np.maximum(*ends)
    return Estimate(found.value, np.minimum(found.low, low), np.maximum(found.high, high))


def _limits(found: Estimate, hour_costs: float | None) -> dict[str, Any]:
    rows = {
        name: [float(column[place]) for column in (found.value, found.low, found.high)]
        for place, name in enumerate(FIGURES)
    }
    value, low, high = rows["per_hour"]
    answer = {"value": value, "low": low, "high": high}
    if hour_costs is not None:
        answer |= dict(zip(("per_job", "low_per_job", "high_per_job"), rows["per_job"], strict=True))
    return answer


def _counts(
    piece: dict[str, NDArray[Any]], returns: Probability, at: int, known: int, asked: _Asked
) -> dict[str, Any]:
    days, jobs = asked.terms.guarantee_days, len(piece["time"])
    q, low, high = float(returns.value[at]), float(returns.low[at]), float(returns.high[at])
    short = int(returns.followed_to[at]) < days and q < 1.0
    words = {
        str(mean_sample(known)),
        str(proportion_sample(float(returns.n_eff[at]), low, high, int(returns.units[at]))),
    }
    together = int(piece["is_together"].sum())
    return {
        "unit": "money an hour, after returns",
        "level": asked.question.level,
        "sample": TOO_FEW if short else next(word for word in (TOO_FEW, ROUGH, ENOUGH) if word in words),
        "basis": f"fixed jobs that somebody paid for, known machines; {asked.terms.rule}",
        "jobs": jobs,
        "return_probability": q,
        "low_return": low,
        "high_return": high,
        "returns": int(returns.events[at]),
        "wasted_trips": float(piece["wasted_trips"].sum()) / jobs,
        "done_together": together,
        "days": days,
        "from": asked.bounds.window.from_at,
        "complete_to": asked.bounds.window.complete_to,
        "note": with_note(
            f"charge and minutes known in {known} of {jobs} jobs" if known < jobs else "",
            f"done together with another part in {together} of {jobs}" if together else "",
            "followed for fewer days than the guarantee runs" if short else "",
            "" if asked.terms.hour_costs else f"per job: write hour_costs = 35.00, say, {HOW_TO_SET}",
            asked.note,
        ),
    }
