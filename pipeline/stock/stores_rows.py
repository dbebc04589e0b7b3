"""The stores part by part: levels while an order is on its way, the next three months, what may go."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.rates import exact_rate
from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.measures.window import Bounds
from pipeline.planning import base_stock as plan
from pipeline.stock.history import DAYS_A_YEAR
from pipeline.stock.outlook import Outlook
from pipeline.stock.parts import Parts
from pipeline.stock.present import Present
from pipeline.stock.stores_wish import StoresWish

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
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

# What the next three months will want: a range that holds four times in five.
QUARTER_DAYS, LIKELY = 90.0, 0.8

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
        "next_90_low",
        "next_90_high",
        "in_stores",
        "on_vans",
        "to_order",
        "let_go",
        "times_missing",
        "days_waited_median",
    ),
)


class Known(NamedTuple):
    """
    What the rows are worked out from.

    Attributes
    ----------
    frame : polars.DataFrame
        One row a part, in the order of `parts`: needs, waits, older numbers.
    """

    frame: pl.DataFrame
    parts: Parts
    now: Present
    bounds: Bounds
    ahead: Outlook


def rows(found: Known, wish: StoresWish) -> pl.DataFrame:
    """One row a part that was needed or lies somewhere, what was missing most often first."""
    known, parts, now, bounds, outlook = found
    years = (bounds.to_on - bounds.from_on).days / DAYS_A_YEAR
    jobs = known["jobs"].fill_null(0).to_numpy().astype(np.int64)
    each = (known["pieces"] / known["jobs"]).fill_null(1.0).to_numpy()
    squares = (known["squares"] / known["jobs"]).fill_null(1.0).to_numpy()
    lead = _lead_days(known)
    lead_years = lead["lead_days"].to_numpy() / DAYS_A_YEAR
    growth = outlook.growth

    def demand(time: Floats) -> plan.Demand:
        return plan.compound(jobs, years, each, squares, time)

    ahead = demand(
        lead_years * growth[0] * outlook.season.ahead(np.maximum(lead["lead_days"].to_numpy(), 1.0))
    )
    soon = demand(QUARTER_DAYS / DAYS_A_YEAR * growth[0] * outlook.season.ahead(QUARTER_DAYS))
    one_year, two_years = demand(growth[0]), demand(growth[:2].sum(axis=0))
    # Keeping one piece through a lead time, a day at least.
    keeping = parts.cost * KEEPING * np.maximum(lead_years, 1 / DAYS_A_YEAR)
    is_kept = (jobs >= RATE_MIN_EVENTS) & (plan.probability_of_none(two_years) <= 1 - KEPT_FROM)
    least = parts.least_order
    point = _reorder_point(ahead, keeping, least, wish)
    is_kept &= point >= 0
    level = np.where(is_kept, point + least, 0)
    point = np.maximum(point, 0)
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
        pl.Series("reorder_point", np.where(is_kept, point, np.nan)).fill_nan(None).cast(pl.Int64),
        pl.Series("least_order", least),
        pl.Series("ready_rate", np.where(is_kept, plan.ready_rate_ordering(ahead, point, least), 0.0)),
        pl.Series("period_fill", np.where(is_kept, plan.period_fill_ordering(ahead, point, least), 0.0)),
        pl.Series("next_90_days", np.where(jobs >= RATE_MIN_EVENTS, soon.mean, np.nan)).fill_nan(None),
        pl.Series("next_90_low", plan.smallest_level(soon, (1 - LIKELY) / 2)),
        pl.Series("next_90_high", plan.smallest_level(soon, (1 + LIKELY) / 2)),
        pl.Series(
            "season", np.where(outlook.season.is_shown, outlook.season.ahead(QUARTER_DAYS), np.nan)
        ).fill_nan(None),
        pl.Series(
            "machines_change", np.full(len(jobs), np.nan) if outlook.ageing is None else growth[0]
        ).fill_nan(None),
        pl.Series("in_stores", in_stores),
        pl.Series("on_vans", on_vans),
        pl.Series(
            "to_order", np.where(is_kept & (in_stores <= point), np.maximum(level - in_stores, least), 0)
        ),
        pl.Series("let_go", let_go),
        pl.Series("let_go_value", np.round(let_go * parts.cost, 2)),
        pl.Series("is_idle", idle),
        pl.Series("none_in_24_months", plan.probability_of_none(two_years)),
        known["last_on"].alias("last_needed_on"),
        known["times"].fill_null(0).alias("times_missing"),
        known["median_days"].alias("days_waited_median"),
        known["all_days"].cast(pl.Int64).alias("days_waited"),
        known["replaces"],
        known["older_pieces"],
        known["number_change"],
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


def _reorder_point(ahead: plan.Demand, keeping: Floats, least: Ints, wish: StoresWish) -> Ints:
    """By the ready rate, or by what a missing piece costs; below 0 where keeping a piece costs more than being without."""
    if wish.short_cost is None:
        return plan.reorder_point_for_ready_rate(ahead, wish.ready_rate, least)
    return plan.smallest_level(ahead, plan.critical_ratio(wish.short_cost, keeping)) - 1


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
