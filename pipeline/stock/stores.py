"""The stores: how many of each part to keep while an order is on its way, what was waited for, what never moves."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve
from pipeline.stock.history import DAYS_A_YEAR
from pipeline.stock.outlook import Needed, Outlook, fleet_of, outlook
from pipeline.stock.parts import parts_of
from pipeline.stock.present import Present, present
from pipeline.stock.stores_rows import Known, rows
from pipeline.stock.stores_wish import StoresWish
from pipeline.stock.supersession import supersessions

NEEDS = """
select part_key, count(*) as jobs, sum(pieces) as pieces, sum(pieces * pieces) as squares, max(needed_on) as last_on
from facts.part_needs
where needed_on >= $from_on and needed_on < $to_on
group by part_key
order by part_key
"""
NEED_DAYS = """
select n.part_key, date_diff('day', cast($from_on as date), n.needed_on) as day,
    date_diff('day', e.age_origin_on, n.needed_on) as age_days
from facts.part_needs as n
join tables.jobs as j on j.job_no = n.job_no
left join facts.exposure as e on e.machine_no = j.machine_no and e.basis = 'machine list'
where n.needed_on >= $from_on and n.needed_on < $to_on
order by n.part_key, n.needed_on, n.job_no
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
class Stores:
    """The rows, and what they rest on."""

    frame: pl.DataFrame
    wish: StoresWish
    bounds: Bounds
    now: Present
    has_costs: bool
    ahead: Outlook

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
    known = parts.frame
    for more in (needs, waits, supersessions(con, bounds.to_on)):
        known = known.join(more, on="part_key", how="left", maintain_order="left")
    ahead = outlook_of(con, bounds, keys, years=2)
    frame = rows(Known(known, parts, now, bounds, ahead), wish)
    return Stores(frame, wish, bounds, now, parts.has_costs, ahead)


def outlook_of(con: duckdb.DuckDBPyConnection, bounds: Bounds, keys: list[str], years: int) -> Outlook:
    """Season and ageing of what jobs of every kind needed, for parts with these keys."""
    found = ask(con, NEED_DAYS, bounds.parameters).filter(pl.col("part_key").is_in(keys))
    part = found["part_key"].replace_strict(keys, list(range(len(keys))), return_dtype=pl.Int64)
    needed = Needed(
        part.to_numpy(),
        found["day"].cast(pl.Int64).to_numpy(),
        found["age_days"].cast(pl.Float64).fill_null(np.nan).to_numpy(),
    )
    days = (bounds.to_on - bounds.from_on).days
    return outlook(needed, days, len(keys), fleet_of(con, bounds, keys), years)
