"""Numbers that are going out: what lies there under the old one, and whether the new one is in use yet."""

from __future__ import annotations

from datetime import date, timedelta

import duckdb
import polars as pl

from pipeline.measures.query import ask

# A change of numbers: told of but not yet seen, going on, over.
ANNOUNCED, RUNNING, OVER = "announced", "running", "over"
# An old number that nobody fitted for so long is over.
STILL_USED_DAYS = 365

OLD_NUMBERS = """
with
used as (
    select lines.part_key, max(coalesce(visits.finished_on, visits.started_on, visits.booked_for_on)) as last_on
    from tables.lines as lines
    join tables.visits as visits on visits.visit_key = lines.visit_key
    where lines.part_key is not null
    group by lines.part_key
),

lying as (
    select part_key, cast(sum(quantity) as bigint) as pieces
    from tables.stock
    where part_key is not null
    group by part_key
)

select
    changes.current_key as part_key,
    string_agg(parts.part_no, ' | ' order by parts.part_no) as replaces,
    cast(sum(coalesce(lying.pieces, 0)) as bigint) as older_pieces,
    max(used.last_on) as old_last_on,
    max(newer.last_on) as new_last_on,
from tables.current_parts as changes
join tables.parts as parts on parts.part_key = changes.part_key
left join used on used.part_key = changes.part_key
left join used as newer on newer.part_key = changes.current_key
left join lying on lying.part_key = changes.part_key
where not changes.is_circular and changes.part_key <> changes.current_key
group by changes.current_key
order by changes.current_key
"""


def supersessions(con: duckdb.DuckDBPyConnection, until: date) -> pl.DataFrame:
    """
    One row per part that takes the place of older numbers.

    Parameters
    ----------
    con : connection
        An open build.
    until : date
        End of the log.

    Returns
    -------
    polars.DataFrame
        `part_key, replaces, older_pieces, number_change`: old numbers, pieces that lie there under them, and ANNOUNCED (the
        new number was never used), RUNNING (the old one was used within a year) or OVER.
    """
    found = ask(con, OLD_NUMBERS, {})
    still = pl.col("old_last_on") >= until - timedelta(days=STILL_USED_DAYS)
    return found.select(
        "part_key",
        "replaces",
        "older_pieces",
        pl.when(pl.col("new_last_on").is_null())
        .then(pl.lit(ANNOUNCED))
        .when(still.fill_null(value=False))
        .then(pl.lit(RUNNING))
        .otherwise(pl.lit(OVER))
        .alias("number_change"),
    )
