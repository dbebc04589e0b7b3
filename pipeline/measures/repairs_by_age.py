"""Repairs per machine as it ages: Nelson's mean cumulative function, counts and cost (measure book, section 3)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.mcf import (
    MIN_AT_RISK,
    Happenings,
    MeanCumulative,
    Windows,
    first_age_at_risk,
    mean_cumulative,
    read_at,
)
from pipeline.estimators.sample import rate_sample
from pipeline.measures.groups import MACHINE_COLUMNS, check_group, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, resolve
from pipeline.normalise.money import minor_digits

DAYS_A_YEAR = 365.25
EXTRAS = ("from_age_years", "at_risk", "cost", "cost_low", "cost_high", "currency", "from", "complete_to")
BASIS_WORDS = {"machine-list": "machine list", "machines-seen": "machines seen"}


@dataclass(frozen=True)
class _Curves:
    """Curves of all groups, and what they rest on."""

    windows: Windows
    count: MeanCumulative
    cost: MeanCumulative | None
    since: NDArray[np.float64]
    currency: str


def repairs_by_age(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Mean number (and cost) of fault jobs a machine has had by each whole year of age, one row a group and age.

    Given is M(t) - M(t0), t0 the first age with at least 5 machines under observation (`from_age_years`); rows stop at
    the last age with as many. `age_years` is a group column.

    Raises
    ------
    CannotAnswerError
        If no machine of known age was followed, or `shares` is asked for.
    """
    for name in question.by:
        check_group(name, tuple(MACHINE_COLUMNS), people=question.people)
    if question.basis == "shares":
        raise WrongUseError(
            "Shares follow no machine, so they cannot show how machines age; leave --basis out."
        )
    bounds = resolve(con, question, needs_closed_jobs=False)
    basis = BASIS_WORDS[question.basis] if question.basis else _best_basis(con)
    machines = _machines(con, bounds, basis)
    if not machines.height:
        raise CannotAnswerError(
            "No machine of known age was followed: the log and the machine list give no installed_on, made_on or "
            f"age_years for any machine on the basis `{basis}`."
        )
    keys, at = positions(machines, question.by)
    curves = _curves(con, machines, at, len(keys), question=question, bounds=bounds, basis=basis)
    left_out = _without_age(con, bounds, basis)
    rows = [
        row
        for place, key in enumerate(keys)
        for row in _rows(key, place, curves, question=question, bounds=bounds, basis=basis, left_out=left_out)
    ]
    if not rows:
        raise CannotAnswerError(
            f"Fewer than {MIN_AT_RISK} machines of known age were followed at any one age, so nothing can be said of ageing."
        )
    names = (*question.by, "age_years")
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _best_basis(con: duckdb.DuckDBPyConnection) -> str:
    found = {row[0] for row in con.execute("select distinct basis from facts.exposure").fetchall()}
    return "machine list" if "machine list" in found else "machines seen"


# A machine is under observation on the days from enter_on to the day before exit_on: at risk for entry < age <= exit.
_FOLLOWED = """
followed as (
    select machine_no, unit_type, make, model, age_origin_on, first_job_no,
        greatest(enter_on, $from_on) as a, least(coalesce(exit_on, $to_on), $to_on) as b
    from facts.exposure where basis = $basis
)"""


def _machines(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> pl.DataFrame:
    sql = f"""
    with {_FOLLOWED}
    select machine_no, unit_type, make, model, date_diff('day', age_origin_on, a) - 1 as entry,
        date_diff('day', age_origin_on, b) - 1 as leave
    from followed where a < b and age_origin_on <= a order by machine_no
    """
    return ask(con, sql, {**bounds.parameters, "basis": basis})


def _events(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> pl.DataFrame:
    sql = f"""
    with {_FOLLOWED}
    select e.machine_no, date_diff('day', e.age_origin_on, j.reported_on) as age, j.charge_minor,
        coalesce(j.currency, '') as currency
    from followed as e join tables.jobs as j on j.machine_no = e.machine_no
    where j.is_fault and j.reported_on >= e.a and j.reported_on < e.b and e.age_origin_on <= e.a
        and not ($basis = 'machines seen' and j.job_no = e.first_job_no)
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "basis": basis})


def _without_age(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> int:
    sql = f"with {_FOLLOWED} select count(*) from followed where a < b and (age_origin_on is null or age_origin_on > a)"
    return int(ask(con, sql, {**bounds.parameters, "basis": basis}).item())


def _curves(
    con: duckdb.DuckDBPyConnection,
    machines: pl.DataFrame,
    at: NDArray[np.int64],
    groups: int,
    *,
    question: Question,
    bounds: Bounds,
    basis: str,
) -> _Curves:
    events = _events(con, bounds, basis)
    windows = Windows(at, machines["entry"].to_numpy(), machines["leave"].to_numpy())
    unit = np.searchsorted(machines["machine_no"].to_numpy(), events["machine_no"].to_numpy())
    count = _mean(windows, Happenings(unit, events["age"].to_numpy()), groups, question.level)
    currencies = events.filter(pl.col("charge_minor").is_not_null())["currency"].unique().to_list()
    cost = None
    # Amounts of two currencies are never added, and a cost curve of some jobs only would be too low.
    if len(currencies) == 1 and events["charge_minor"].null_count() <= events.height / 20:
        amount = events["charge_minor"].fill_null(0).to_numpy() / 10 ** minor_digits(currencies[0])
        cost = _mean(
            windows, Happenings(unit, events["age"].to_numpy(), np.maximum(amount, 0)), groups, question.level
        )
    since = first_age_at_risk(windows, groups=groups, at_least=MIN_AT_RISK)
    return _Curves(windows, count, cost, since, currencies[0] if cost is not None else "")


def _mean(windows: Windows, happenings: Happenings, groups: int, level: float) -> MeanCumulative:
    return mean_cumulative(windows, happenings, groups=groups, level=level, min_at_risk=MIN_AT_RISK)


def _rows(
    key: dict[str, Any],
    at: int,
    curves: _Curves,
    *,
    question: Question,
    bounds: Bounds,
    basis: str,
    left_out: int,
) -> list[dict[str, Any]]:
    """One row for each whole year of age up to which at least five machines were under observation."""
    mine = np.asarray(curves.windows.group) == at
    entry, leave = np.asarray(curves.windows.entry)[mine], np.asarray(curves.windows.exit)[mine]
    since = max(float(curves.since[at]), 0.0)  # a machine watched from its first day enters before it
    if not np.isfinite(since):
        return []
    years = np.arange(int(since // DAYS_A_YEAR) + 1, int(leave.max() // DAYS_A_YEAR) + 2)
    ages = years * DAYS_A_YEAR
    at_risk = (entry[:, None] < ages) & (leave[:, None] >= np.floor(ages))
    enough = _as_far_as_the_line_goes(at_risk.sum(axis=0))
    years, ages, at_risk = years[enough], ages[enough], at_risk[:, enough].sum(axis=0)
    if not years.size:
        return []
    first = int((entry < since + 1).sum())
    count = read_at(curves.count, at, ages, max(first, MIN_AT_RISK), question.level)
    cost = (
        None
        if curves.cost is None
        else read_at(curves.cost, at, ages, max(first, MIN_AT_RISK), question.level)
    )
    begin, end = curves.count.offsets[at], curves.count.offsets[at + 1]
    seen = np.searchsorted(curves.count.time[begin:end], ages, side="right")
    so_far = np.concatenate([[0.0], np.cumsum(curves.count.amount[begin:end])])[seen]
    samples = rate_sample(so_far)
    return [
        {
            **key,
            "age_years": int(year),
            "value": float(count.value[n]),
            "low": float(count.low[n]),
            "high": float(count.high[n]),
            "numerator": float(so_far[n]),
            "denominator": int(mine.sum()),
            "unit": "repairs a machine, mean",
            "level": question.level,
            "sample": str(samples[n]),
            "basis": basis,
            "note": with_note(f"{left_out} machines of unknown age left out" if left_out else ""),
            "from_age_years": round(since / DAYS_A_YEAR, 2),
            "at_risk": int(at_risk[n]),
            "cost": None if cost is None else float(cost.value[n]),
            "cost_low": None if cost is None else float(cost.low[n]),
            "cost_high": None if cost is None else float(cost.high[n]),
            "currency": curves.currency,
            "from": bounds.window.from_at,
            "complete_to": bounds.window.complete_to,
        }
        for n, year in enumerate(years)
    ]


def _as_far_as_the_line_goes(at_risk: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Up to before the first age with too few machines: the line does not begin again behind a gap."""
    too_few: NDArray[np.bool_] = np.logical_or.accumulate(at_risk < MIN_AT_RISK)
    return ~too_few
