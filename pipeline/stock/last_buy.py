"""A part is dropped by its maker: how many to buy once, for the machines that will still be there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve
from pipeline.normalise.part_keys import match_key
from pipeline.planning import base_stock as plan
from pipeline.stock.history import DAYS_A_YEAR
from pipeline.stock.outlook import Outlook
from pipeline.stock.parts import parts_of
from pipeline.stock.present import present
from pipeline.stock.stores import NEEDS, outlook_of
from pipeline.stock.stores_rows import LIKELY
from pipeline.stock.stores_wish import StoresWish
from pipeline.stock.words import counted

USUAL_YEARS, MOST_YEARS = 10, 40
CHANGES = "select current_key from tables.current_parts where part_key = $part_key"


@dataclass(frozen=True)
class LastBuy:
    """
    Attributes
    ----------
    frame : polars.DataFrame
        One row a year ahead: `year, machines, needed, needed_so_far, low, high, buy`; low and high hold what is needed up
        to then four times in five; buy is what to buy if it has to last so long.
    enough : float
        Probability that what is bought lasts.
    """

    frame: pl.DataFrame
    label: str
    jobs: int
    there: int
    enough: float
    over_cost: float | None
    ahead: Outlook
    bounds: Bounds
    wish: StoresWish

    @property
    def buy(self) -> int:
        """Pieces to buy for all the years."""
        return int(self.frame["buy"][-1])


def last_buy(
    con: duckdb.DuckDBPyConnection, part_no: str, years: int, wish: StoresWish, over_cost: float | None = None
) -> LastBuy:
    """
    Work out a last-time buy.

    Parameters
    ----------
    con : connection
        An open build.
    part_no : str
        As anybody writes it.
    years : int
        How long it has to last.
    wish : StoresWish
        A missing piece's cost, else how surely it shall last.
    over_cost : float or None
        What a piece costs that is never used, major units; by default its price.

    Raises
    ------
    CannotAnswerError
        If the log and the lists do not know the part, too few jobs needed it, or a cost is weighed and no price known.
    """
    if not 1 <= years <= MOST_YEARS:
        raise WrongUseError(f"--years must be between 1 and {MOST_YEARS}, but was {years}.")
    if over_cost is not None and not (math.isfinite(over_cost) and over_cost > 0):
        raise WrongUseError(f"--over-cost must be above 0, but was {over_cost:g}.")
    bounds = resolve(con, Question(), needs_closed_jobs=False)
    key, label = _part(con, part_no)
    needs = ask(con, NEEDS, bounds.parameters).filter(pl.col("part_key") == key)
    jobs = int(needs["jobs"][0]) if needs.height else 0
    if jobs < RATE_MIN_EVENTS:
        raise CannotAnswerError(
            f"{label} was needed by {counted(jobs, 'job', 'jobs')}, fewer than {RATE_MIN_EVENTS}: too rare to say how many will be needed."
        )
    ahead = outlook_of(con, bounds, [key], years)
    parts = parts_of(con, [key])
    over = over_cost or (float(parts.cost[0]) if parts.has_costs and parts.without_cost == 0 else None)
    enough = wish.ready_rate
    if wish.short_cost is not None:
        if over is None:
            raise CannotAnswerError(
                f"No price of {label} is known, so a piece too few cannot be weighed against one too many: give --over-cost."
            )
        enough = float(plan.critical_ratio(wish.short_cost, over))
    now = present(con).frame.filter(pl.col("part_key") == key)
    there = int(now["quantity"].sum())
    frame = _years(needs.row(0, named=True), bounds, ahead, enough, there)
    return LastBuy(frame, label, jobs, there, enough, over, ahead, bounds, wish)


def _part(con: duckdb.DuckDBPyConnection, part_no: str) -> tuple[str, str]:
    """Current key of a part, and what to call it."""
    key = match_key(part_no)
    current = ask(con, CHANGES, {"part_key": key or ""})
    key = str(current["current_key"][0]) if current.height else key
    known = ask(con, "select part_no, part_name from tables.parts where part_key = $key", {"key": key or ""})
    if key is None or not known.height:
        raise CannotAnswerError(
            f"Neither the log nor a list knows a part {part_no}. mendstat stores lists them."
        )
    return key, " ".join(str(value) for value in reversed(known.row(0)) if value is not None)


def _years(needs: dict[str, int], bounds: Bounds, ahead: Outlook, enough: float, there: int) -> pl.DataFrame:
    length = (bounds.to_on - bounds.from_on).days / DAYS_A_YEAR
    growth = ahead.growth[:, 0]
    time = np.cumsum(growth)
    many = len(time)
    demand = plan.compound(
        np.full(many, needs["jobs"]),
        length,
        np.full(many, needs["pieces"] / needs["jobs"]),
        np.full(many, needs["squares"] / needs["jobs"]),
        np.maximum(time, 1e-9),
    )
    machines = ahead.machines[:, 0]
    return pl.DataFrame(
        {
            "year": np.arange(1, many + 1),
            "machines": np.round(machines, 1),
            "needed": np.round(np.diff(demand.mean, prepend=0.0), 2),
            "needed_so_far": np.round(demand.mean, 2),
            "low": plan.smallest_level(demand, (1 - LIKELY) / 2),
            "high": plan.smallest_level(demand, (1 + LIKELY) / 2),
            "buy": np.maximum(plan.smallest_level(demand, enough) - there, 0),
        }
    ).with_columns(pl.col("machines").fill_nan(None))


def notes(found: LastBuy) -> list[str]:
    """What to buy and what that rests on, in sentences."""
    last = found.frame.row(-1, named=True)
    years = counted(found.frame.height, "year", "years")
    said = [
        (
            f"{found.label}: buy {found.buy} to last {years}, with the {counted(found.there, 'piece', 'pieces')} that are there. "
            f"Needed until then: about {last['needed_so_far']:.0f}, four times in five between {last['low']} and {last['high']}; "
            f"from {counted(found.jobs, 'job', 'jobs')} {found.bounds.window.in_words()}."
        ),
        _aim(found),
        _machines(found),
    ]
    return [sentence for sentence in said if sentence]


def _aim(found: LastBuy) -> str:
    if found.wish.short_cost is None:
        return f"Aim: enough with {found.enough:.0%} probability (--ready-rate), or --short-cost and --over-cost to weigh one too few against one too many."
    return (
        f"Aim: one piece too few costs {found.wish.short_cost:,.2f}, one never used {found.over_cost:,.2f}: enough with "
        f"{found.enough:.1%} probability."
    )


def _machines(found: LastBuy) -> str:
    if found.ahead.ageing is None:
        return (
            "No machine list with days of installation speaks for this log: as many machines of the same age are taken to be there "
            "in every year, which buys too much of a part whose machines are going."
        )
    age = (
        "and need more or less of it as they age" if found.ahead.ageing.is_shown[0] else "and no ageing shows"
    )
    return f"Machines of the list that it fits, leaving at each age as they have left so far, {age}."
