"""What serials said before they were replaced: the block each belongs to, and the week its machine was made."""

from __future__ import annotations

import duckdb

from pipeline.standard_log import WITH_SERIALS


def read_serials(con: duckdb.DuckDBPyConnection) -> None:
    """
    Create normalise.serials: one row per serial of which a layout had more read, in the log and in the list of machines.

    Files that are read by different layouts may say more or less of the same serial; the first in order is kept.
    """
    tables = {"log": "rows"}
    every = " union all ".join(
        f"select serial, serial_block, made_week from received.{tables.get(kind, kind)} "
        "where row_problem is null and serial is not null and (serial_block is not null or made_week is not null)"
        for kind in WITH_SERIALS
    )
    con.execute(
        f"""
        create or replace table normalise.serials as
        select serial, min(serial_block) as serial_block, min(cast(made_week as date)) as made_week
        from ({every}) as said group by serial
        """
    )
