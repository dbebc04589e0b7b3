"""The stores: how many of each part to keep while an order is on its way, what was waited for, what never moves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.rates import exact_rate
from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve
from pipeline.planning import base_stock as plan
from pipeline.stock.history import DAYS_A_YEAR
from pipeline.stock.parts import Parts, parts_of
from pipeline.stock.present import Present, present
from pipeline.stock.words import counted

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
READY_RATE = 0.95
# Cost of keeping a piece for a year, of its price: interest, room, what goes out of date. Common practice, no source.
KEEPING = 0.25
# Waits from which the middle one is taken for a lead time; without a list or waits a week is assumed, and said.
LEAST_WAITS, ASSUMED_LEAD_DAYS = 3, 7.0
MONTHS_24 = 2.0
# Beyond what 24 months will want with this probability, pieces are idle.
SURE = 0.95
# Not used for 24 months, and most likely not in the next 12 either.
NONE_IN_A_YEAR = 0.8
# A part that is as likely as not to be wanted within 24 months is kept; a rarer one is ordered when it is needed.
KEPT_FROM = 0.5

# What a screen has room for; files hold every column.
ON_A_SCREEN = (
    *(
        "part_no",
        "part_name",
        "needed_per_year",
        "lead_days",
        "base_stock",
        "reorder_point",
        "ready_rate",
        "period_fill",
    ),
    *(
        "in_stores",
        "on_vans",
        "to_order",
        "let_go",
        "none_in_24_months",
        "times_missing",
        "days_waited_median",
    ),
)

NEEDS = """
select part_key, count(*) as jobs, sum(pieces) as pieces, sum(pieces * pieces) as squares, max(needed_on) as last_on
from facts.part_needs
where needed_on >= $from_on and needed_on < $to_on
group by part_key
order by part_key
"""
# A machine waits from the day the part was found missing until it was fitted.
WAITS = """
select part_key, count(*) as times, count(days) as waits, median(days) as median_days, sum(days) as all_days
from (
    select part_key, date_diff('day', asked_on, fitted_on) as days from facts.part_needs
    where was_asked_for and asked_on >= $from_on and asked_on < $to_on
)
group by part_key
order by part_key
"""


@dataclass(frozen=True)
class StoresWish:
    """
    What the owner gives.

    Attributes
    ----------
    ready_rate : float
        How often a piece shall be there when the next one is needed.
    short_cost : float or None
        What one missing piece costs, major units; then each part's rate follows from its price.
    """

    ready_rate: float = READY_RATE
    short_cost: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        if not 0.0 < self.ready_rate < 1.0:
            raise WrongUseError(f"--ready-rate must be between 0 and 1, but was {self.ready_rate:g}.")
        if self.short_cost is not None and not (math.isfinite(self.short_cost) and self.short_cost > 0):
            raise WrongUseError(f"--short-cost must be above 0, but was {self.short_cost:g}.")


@dataclass(frozen=True)
class Stores:
    """The rows, and what they rest on."""

    frame: pl.DataFrame
    wish: StoresWish
    bounds: Bounds
    now: Present
    has_costs: bool

    @property
    def years(self) -> float:
        """Length of the window."""
        return (self.bounds.to_on - self.bounds.from_on).days / DAYS_A_YEAR


def stores(con: duckdb.DuckDBPyConnection, wish: StoresWish) -> Stores:
    """
    Work out the stores, one row a part that was needed or lies somewhere.

    Raises
    ------
    CannotAnswerError
        If no job needed a part and no stock list is loaded, or a cost is given and no price known.
    """
    bounds = resolve(con, Question(), needs_closed_jobs=False)
    needs, waits = ask(con, NEEDS, bounds.parameters), ask(con, WAITS, bounds.parameters)
    now = present(con)
    keys = sorted({*needs["part_key"].to_list(), *now.frame["part_key"].to_list()})
    if not keys:
        raise CannotAnswerError(
            "No job says which part it needed and no stock list is loaded, so there is nothing to say about the stores."
        )
    parts = parts_of(con, keys)
    if wish.short_cost is not None and not parts.has_costs:
        raise CannotAnswerError(
            "No price of a part is known, so --short-cost cannot be weighed against it: load a parts list with unit_cost (--parts)."
        )
    known = parts.frame.join(needs, on="part_key", how="left", maintain_order="left").join(
        waits, on="part_key", how="left", maintain_order="left"
    )
    return Stores(_rows(known, parts, now, bounds, wish), wish, bounds, now, parts.has_costs)


def _rows(known: pl.DataFrame, parts: Parts, now: Present, bounds: Bounds, wish: StoresWish) -> pl.DataFrame:
    years = (bounds.to_on - bounds.from_on).days / DAYS_A_YEAR
    jobs = known["jobs"].fill_null(0).to_numpy().astype(np.int64)
    each = (known["pieces"] / known["jobs"]).fill_null(1.0).to_numpy()
    squares = (known["squares"] / known["jobs"]).fill_null(1.0).to_numpy()
    lead = _lead_days(known)
    lead_years = lead["lead_days"].to_numpy() / DAYS_A_YEAR
    ahead = plan.compound(jobs, years, each, squares, lead_years)
    two_years = plan.compound(jobs, years, each, squares, MONTHS_24)
    one_year = plan.compound(jobs, years, each, squares, 1.0)
    # Keeping one piece through a lead time, a day at least.
    keeping = parts.cost * KEEPING * np.maximum(lead_years, 1 / DAYS_A_YEAR)
    is_kept = (jobs >= RATE_MIN_EVENTS) & (plan.probability_of_none(two_years) <= 1 - KEPT_FROM)
    level = _level(ahead, keeping, is_kept, wish)
    rate = exact_rate(jobs, np.full(len(jobs), years))
    keys = known["part_key"].to_list()
    in_stores, on_vans = now.at(now.stores, keys), now.at(now.vans, keys)
    idle = _idle(known["last_on"].to_list(), bounds, plan.probability_of_none(one_year))
    let_go = _let_go(in_stores + on_vans, level, two_years, idle=idle, short=years < MONTHS_24)
    listed = now.frame.height > 0
    frame = known.select("part_no", "part_name").with_columns(
        pl.Series("needed_per_year", np.where(jobs >= RATE_MIN_EVENTS, rate.value * each, np.nan)).fill_nan(
            None
        ),
        pl.Series("low", rate.low * each),
        pl.Series("high", rate.high * each),
        pl.Series("jobs", jobs),
        lead["lead_days"],
        lead["lead_from"],
        pl.Series("base_stock", level),
        pl.Series("reorder_point", np.where(level > 0, level - 1, np.nan)).fill_nan(None).cast(pl.Int64),
        pl.Series("ready_rate", np.where(level > 0, plan.ready_rate(ahead, level), 0.0)),
        pl.Series("period_fill", plan.period_fill(ahead, level)),
        pl.Series("in_stores", in_stores),
        pl.Series("on_vans", on_vans),
        pl.Series("to_order", np.maximum(level - in_stores, 0)),
        pl.Series("let_go", let_go),
        pl.Series("let_go_value", np.round(let_go * parts.cost, 2)),
        pl.Series("is_idle", idle),
        pl.Series("none_in_24_months", plan.probability_of_none(two_years)),
        known["last_on"].alias("last_needed_on"),
        known["times"].fill_null(0).alias("times_missing"),
        known["median_days"].alias("days_waited_median"),
        known["all_days"].cast(pl.Int64).alias("days_waited"),
    )
    unknown = [] if listed else ["in_stores", "on_vans", "to_order", "let_go"]
    unknown += [] if listed and parts.has_costs else ["let_go_value"]
    return frame.with_columns(pl.lit(None).cast(frame.schema[name]).alias(name) for name in unknown).sort(
        "times_missing", "jobs", "part_no", descending=[True, True, False], nulls_last=True
    )


def _lead_days(known: pl.DataFrame) -> pl.DataFrame:
    """Of the parts list, else the middle wait of the part, else of all parts, else a week; and where it is from."""
    own = pl.when(pl.col("waits") >= LEAST_WAITS).then(pl.col("median_days"))
    return known.select(
        pl.coalesce(pl.col("lead_days").cast(pl.Float64), own, own.median(), pl.lit(ASSUMED_LEAD_DAYS)).alias(
            "lead_days"
        ),
        pl.when(pl.col("lead_days").is_not_null())
        .then(pl.lit("parts list"))
        .when(own.is_not_null())
        .then(pl.lit("waits for this part"))
        .when(own.median().is_not_null())
        .then(pl.lit("waits for other parts"))
        .otherwise(pl.lit("assumed"))
        .alias("lead_from"),
    )


def _level(ahead: plan.Demand, keeping: Floats, is_kept: NDArray[np.bool_], wish: StoresWish) -> Ints:
    """Base stock: by the ready rate, or by what a missing piece costs; none of a part too rare to keep."""
    if wish.short_cost is None:
        level = plan.base_stock_for_ready_rate(ahead, wish.ready_rate)
    else:
        level = plan.smallest_level(ahead, plan.critical_ratio(wish.short_cost, keeping))
    return np.where(is_kept, level, 0).astype(np.int64)


def _idle(last: list[date | None], bounds: Bounds, none_ahead: Floats) -> NDArray[np.bool_]:
    since = bounds.to_on - timedelta(days=round(MONTHS_24 * DAYS_A_YEAR))
    if bounds.from_on > since:
        return np.zeros(len(last), dtype=np.bool_)
    unused = np.array([day is None or day < since for day in last], dtype=np.bool_)
    return np.asarray(unused & (none_ahead >= NONE_IN_A_YEAR))


def _let_go(
    there: Ints, level: Ints, two_years: plan.Demand, *, idle: NDArray[np.bool_], short: bool
) -> Ints:
    """Pieces, vans counted, that 24 months will hardly want; in a log shorter than that, none are named."""
    if short:
        return np.zeros(len(there), dtype=np.int64)
    kept = np.where(idle, 0, np.maximum(level, plan.smallest_level(two_years, SURE)))
    return np.maximum(there - kept, 0).astype(np.int64)


def notes(found: Stores) -> list[str]:
    """What the rows mean and rest on, in sentences."""
    frame = found.frame
    said = [
        (
            "Base stock: pieces on the shelf and on order together; order one as soon as they fall to the reorder point. Ready "
            "rate: how often a piece is there when the next one is needed. Period fill: share of the pieces wanted during one "
            "lead time that the shelf covers. Two different things."
        ),
        _aim_words(found),
        f"From what jobs of every kind needed {found.bounds.window.in_words()}, fitted or not; season and ageing are left out.",
    ]
    assumed = int((frame["lead_from"] == "assumed").sum())
    if assumed:
        said.append(
            f"For {counted(assumed, 'part', 'parts')} no lead time is known: {ASSUMED_LEAD_DAYS:.0f} days are assumed (lead_days in the parts list)."
        )
    rare = int((frame["jobs"].is_between(1, RATE_MIN_EVENTS - 1)).sum())
    if rare:
        said.append(
            f"{counted(rare, 'part was', 'parts were')} needed by fewer than {RATE_MIN_EVENTS} jobs: too rare to say, to be ordered when needed."
        )
    if not found.now.frame.height:
        said.append("No stock list is loaded (--stock), so nothing is said of what to order or let go.")
    elif found.years < MONTHS_24:
        said.append("The log is shorter than 24 months, so nothing is said of what to let go.")
    else:
        said.append(_let_go_words(found))
    return said


def _aim_words(found: Stores) -> str:
    if found.wish.short_cost is None:
        return f"Aim: a ready rate of at least {found.wish.ready_rate:.0%} (--ready-rate), or --short-cost for what one missing piece costs."
    return (
        f"Aim: the least cost where a missing piece costs {found.wish.short_cost:,.2f} and keeping one {KEEPING:.0%} of its price a "
        "year (common practice, no source)."
    )


def _let_go_words(found: Stores) -> str:
    idle = found.frame.filter(pl.col("let_go") > 0)
    if not idle.height:
        return "Nothing lies there that the next 24 months will not want."
    money = f", worth {idle['let_go_value'].sum():,.2f}" if found.has_costs else ""
    return (
        f"To let go (return, sell): {counted(int(idle['let_go'].sum()), 'piece', 'pieces')} of {counted(idle.height, 'part', 'parts')}"
        f"{money}; with {SURE:.0%} probability the "
        "next 24 months want no more than what stays. Numbers that replace each other are counted as one part."
    )
