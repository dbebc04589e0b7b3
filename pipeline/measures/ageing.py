"""Machines as they age: who was under observation at which age, and what happened then (measure book, section 3)."""

from __future__ import annotations

from collections.abc import Mapping
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
)
from pipeline.measures.groups import MACHINE_COLUMNS, check_group, positions
from pipeline.measures.lines import of
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve
from pipeline.normalise.money import minor_digits

DAYS_A_YEAR = 365.25
BASIS_WORDS = {"machine-list": "machine list", "machines-seen": "machines seen"}


@dataclass(frozen=True)
class Curves:
    """
    Curves of all groups, and what they rest on.

    Attributes
    ----------
    keys : list of dict
        The groups, in the order of the curves.
    windows, happenings
        Machines under observation and their fault jobs; ages in days.
    count, cost : MeanCumulative
        Mean number and charges; no charges where too few jobs have one, or in two currencies.
    since : array
        First age with five machines under observation, one a group.
    """

    keys: list[dict[str, Any]]
    windows: Windows
    happenings: Happenings
    count: MeanCumulative
    cost: MeanCumulative | None
    since: NDArray[np.float64]
    currency: str
    bounds: Bounds
    basis: str
    left_out: int

    def windows_of(self, at: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Ages at which the machines of a group came under observation and left it."""
        mine = np.asarray(self.windows.group) == at
        return np.asarray(self.windows.entry)[mine], np.asarray(self.windows.exit)[mine]


def ageing(
    con: duckdb.DuckDBPyConnection, question: Question, only: Mapping[str, str] | None = None
) -> Curves:
    """
    Mean cumulative number and charges of fault jobs by age, one curve a group.

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
    machines = of(machines, only or {})
    keys, at = positions(machines, question.by)
    return _curves(con, machines, at, keys, question=question, bounds=bounds, basis=basis)


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


def last_age(curves: Curves, at: int) -> float:
    """
    Last age of a group's line, in days, at which five machines are there.

    As in `mean_cumulative` the line ends before the first event, after five machines were there, with fewer; days with
    fewer on which nothing happened do not end it.
    """
    entry, leave = curves.windows_of(at)
    unit = np.asarray(curves.happenings.unit)
    ages = np.unique(np.asarray(curves.happenings.time)[np.asarray(curves.windows.group)[unit] == at])
    since = float(curves.since[at])
    later = ages[ages > since]
    too_few = later[_at_risk(entry, leave, later) < MIN_AT_RISK]
    before = float(too_few[0]) if too_few.size else np.inf
    # At the end of somebody's stay, and on the day before an event, the count is as low as it gets.
    ends = np.append(leave, before - 1)[np.append(leave, before - 1) < before]
    ends = ends[(ends > since) & (_at_risk(entry, leave, ends) >= MIN_AT_RISK)]
    return float(ends.max(initial=since))


def machines_at(curves: Curves, at: int, ages: NDArray[Any]) -> NDArray[np.int64]:
    """Machines of a group under observation on the day of each age (days)."""
    return _at_risk(*curves.windows_of(at), ages)


def _at_risk(entry: NDArray[np.float64], leave: NDArray[np.float64], ages: NDArray[Any]) -> NDArray[np.int64]:
    came = np.searchsorted(np.sort(entry), ages, side="left")
    gone = np.searchsorted(np.sort(leave), np.floor(ages), side="left")
    here: NDArray[np.int64] = (came - gone).astype(np.int64)
    return here


def _curves(
    con: duckdb.DuckDBPyConnection,
    machines: pl.DataFrame,
    at: NDArray[np.int64],
    keys: list[dict[str, Any]],
    *,
    question: Question,
    bounds: Bounds,
    basis: str,
) -> Curves:
    events = _events(con, bounds, basis).join(
        machines.select("machine_no"), on="machine_no", how="semi", maintain_order="left"
    )
    windows = Windows(at, machines["entry"].to_numpy(), machines["leave"].to_numpy())
    unit = np.searchsorted(machines["machine_no"].to_numpy(), events["machine_no"].to_numpy())
    happenings = Happenings(unit, events["age"].to_numpy())
    cost, currency = _cost(events, windows, happenings, len(keys), question.level)
    return Curves(
        keys,
        windows,
        happenings,
        _mean(windows, happenings, len(keys), question.level),
        cost,
        first_age_at_risk(windows, groups=len(keys), at_least=MIN_AT_RISK),
        currency,
        bounds,
        basis,
        _without_age(con, bounds, basis),
    )


def _cost(
    events: pl.DataFrame, windows: Windows, happenings: Happenings, groups: int, level: float
) -> tuple[MeanCumulative | None, str]:
    currencies = events.filter(pl.col("charge_minor").is_not_null())["currency"].unique().to_list()
    # Amounts of two currencies are never added, and a cost curve of some jobs only would be too low.
    if len(currencies) != 1 or events["charge_minor"].null_count() > events.height / 20:
        return None, ""
    amount = events["charge_minor"].fill_null(0).to_numpy() / 10 ** minor_digits(currencies[0])
    charged = happenings._replace(amount=np.maximum(amount, 0))
    return _mean(windows, charged, groups, level), currencies[0]


def _mean(windows: Windows, happenings: Happenings, groups: int, level: float) -> MeanCumulative:
    return mean_cumulative(windows, happenings, groups=groups, level=level, min_at_risk=MIN_AT_RISK)
