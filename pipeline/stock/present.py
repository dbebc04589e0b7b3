"""What lies on the vans and in the stores now, as the stock list says, at current part numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measures.query import ask

# A place with one of these words in its name is a van; every other one is a store.
VAN = re.compile(r"\b(vans?|vehicles?|cars?|trucks?|lorry|lorries|pickup)\b|^v\s*\d+$", re.IGNORECASE)
STOCK = """
select
    coalesce(s.place, '') as place, coalesce(c.current_key, s.part_key) as part_key,
    cast(sum(s.quantity) as bigint) as quantity, max(s.bought_on) as bought_on
from tables.stock as s
left join tables.current_parts as c on c.part_key = s.part_key
where s.part_key is not null
group by all
order by all
"""


@dataclass(frozen=True)
class Present:
    """
    Stock by place.

    Attributes
    ----------
    frame : polars.DataFrame
        `place, part_key, quantity, bought_on`, one row a place and part.
    """

    frame: pl.DataFrame

    @property
    def vans(self) -> list[str]:
        """Names of the vans, in order."""
        return sorted(place for place in self.frame["place"].unique().to_list() if is_van(place))

    @property
    def stores(self) -> list[str]:
        """Names of the other places, in order."""
        return sorted(place for place in self.frame["place"].unique().to_list() if not is_van(place))

    def on_vans(self, keys: list[str]) -> NDArray[np.int64]:
        """Pieces by van and part, (vans, parts)."""
        return np.array([self.at([place], keys) for place in self.vans], dtype=np.int64).reshape(
            -1, len(keys)
        )

    def at(self, places: list[str], keys: list[str]) -> NDArray[np.int64]:
        """Pieces of each part at some places together, (parts,)."""
        there = self.frame.filter(pl.col("place").is_in(places))
        sums = dict(there.group_by("part_key").agg(pl.col("quantity").sum()).rows())
        return np.array([sums.get(key, 0) for key in keys], dtype=np.int64)


def is_van(place: str) -> bool:
    """Whether a place of the stock list is a van, by its name."""
    return VAN.search(place) is not None


def present(con: duckdb.DuckDBPyConnection) -> Present:
    """The stock list that was loaded; empty without one."""
    return Present(ask(con, STOCK, {}))
