"""What is known of each part: number, name, what a piece costs and how much room it takes."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measures.query import ask
from pipeline.normalise.money import minor_digits

Floats = NDArray[np.float64]

PARTS = """
with paid as (
    select
        coalesce(c.current_key, l.part_key) as part_key,
        median(l.part_cost_minor / coalesce(l.quantity, 1)) as unit_minor
    from tables.lines as l
    join tables.visits as v on v.visit_key = l.visit_key
    left join tables.current_parts as c on c.part_key = l.part_key
    where l.part_cost_minor > 0 and coalesce(l.quantity, 1) > 0 and coalesce(v.currency, $currency) = $currency
        and coalesce(l.part_source, '') not in ('customer-supplied', 'used')
    group by all
)
select
    p.part_key, p.part_no, p.part_name, p.is_safety_part, p.lead_days, p.volume_l, p.least_order,
    coalesce(nullif(p.unit_cost_minor, 0), paid.unit_minor) as unit_minor
from tables.parts as p
left join paid on paid.part_key = p.part_key
order by p.part_key
"""
CURRENCIES = "select currency, count(*) as visits from tables.visits where currency is not null group by all order by 2 desc, 1"
CIRCULAR = """
select p.part_no from tables.current_parts as c join tables.parts as p on p.part_key = c.part_key
where c.is_circular order by 1
"""


@dataclass(frozen=True)
class Parts:
    """
    Parts in a given order.

    Attributes
    ----------
    frame : polars.DataFrame
        `part_key, part_no, part_name, is_safety_part, lead_days, volume_l, least_order, unit_cost, is_cost_known, litres`, one row a
        part; a cost or volume that nobody wrote down is the middle one of the others.
    """

    frame: pl.DataFrame

    @property
    def cost(self) -> Floats:
        """Of one piece, major units; above 0."""
        return self.frame["unit_cost"].to_numpy()

    @property
    def litres(self) -> Floats:
        """Of one piece."""
        return self.frame["litres"].to_numpy()

    @property
    def least_order(self) -> NDArray[np.int64]:
        """Pieces that must be ordered at once, at least 1."""
        least = self.frame["least_order"].cast(pl.Float64).fill_null(1.0).to_numpy()
        return np.asarray(np.maximum(np.ceil(least), 1.0), dtype=np.int64)

    @property
    def has_costs(self) -> bool:
        """Whether any price is known."""
        return bool(self.frame["is_cost_known"].any())

    @property
    def has_litres(self) -> bool:
        """Whether any volume is known."""
        return self.frame["volume_l"].count() > 0

    @property
    def without_cost(self) -> int:
        """How many parts have no known price."""
        return int((~self.frame["is_cost_known"]).sum())


def parts_of(con: duckdb.DuckDBPyConnection, keys: list[str]) -> Parts:
    """Parts with these keys, in this order; a price is that of the parts list, else the middle one paid."""
    currency = currency_of(con)
    found = ask(con, PARTS, {"currency": currency})
    order = pl.DataFrame({"part_key": keys}, schema={"part_key": pl.String})
    frame = order.join(found, on="part_key", how="left", maintain_order="left")
    known = (pl.col("unit_minor") > 0).fill_null(value=False)
    cost = pl.when(known).then(pl.col("unit_minor") / 10 ** minor_digits(currency))
    return Parts(
        frame.with_columns(
            cost.fill_null(cost.median()).fill_null(1.0).cast(pl.Float64).alias("unit_cost"),
            known.alias("is_cost_known"),
            pl.col("volume_l").fill_null(pl.col("volume_l").median()).fill_null(1.0).alias("litres"),
        )
    )


def currency_of(con: duckdb.DuckDBPyConnection) -> str:
    """The currency that stock is counted in: the shop's own, else the log's commonest; empty for an unnamed one."""
    own = str(con.execute('select currency from settings."values"').fetchall()[0][0] or "")
    if own:
        return own
    rows = ask(con, CURRENCIES, {}).rows()
    return str(rows[0][0]) if rows else ""


def circular_words(con: duckdb.DuckDBPyConnection) -> str:
    """A sentence on parts that the parts list lets replace each other; empty where there are none."""
    numbers = [str(row[0]) for row in ask(con, CIRCULAR, {}).rows()]
    if not numbers:
        return ""
    listed = ", ".join(numbers[:5]) + (f" and {len(numbers) - 5} more" if len(numbers) > 5 else "")
    return f"The parts list lets {listed} replace each other in a circle (replaced_by): each is counted as a part of its own."
