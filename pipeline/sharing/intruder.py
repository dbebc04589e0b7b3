"""
What somebody who wants to know could single out: the motivated intruder's look at the store and at the shared export.

An intruder is taken to know of one household roughly where it is, what kind of machine it has, in which month
somebody came, and perhaps what was wrong. Whoever fits a single job can read all else that the store says of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import duckdb
import polars as pl

from pipeline.sharing.anonymity import k_anonymity, l_diversity, standing_alone
from pipeline.sharing.counted import count_cells
from pipeline.sharing.protection import publishable

KNOWN = ("area", "unit_type", "month", "symptom")
# From the least to the most that a neighbour may know; make and exact day are what a plate and a diary add.
LOOKS = (
    ("area", "unit_type"),
    ("area", "unit_type", "month"),
    ("area", "unit_type", "month", "symptom"),
    ("area", "unit_type", "month", "symptom", "make"),
    ("area", "unit_type", "reported_on", "symptom", "make"),
)
# What a plate adds where a layout has it read from the serial.
ON_THE_PLATE = ("serial_block", "made_week")
IN_WORDS = {
    "area": "area",
    "unit_type": "kind",
    "month": "month",
    "symptom": "fault",
    "make": "make",
    "reported_on": "day",
    "serial_block": "block of serials",
    "made_week": "week of making",
}
KNOWN_IN_WORDS = ", ".join(IN_WORDS[name] for name in KNOWN)
# What each column could be made coarser to, in the order in which it is tried.
COARSER: tuple[tuple[str, str, pl.Expr], ...] = (
    ("month", "quarters instead of months", pl.col("reported_on").dt.truncate("1q").cast(pl.String)),
    ("month", "years instead of months", pl.col("reported_on").dt.year().cast(pl.String)),
    ("area", "one area", pl.lit("all")),
    ("symptom", "no word of what was wrong", pl.lit("all")),
)


AS_KEPT = "as kept"


def singling_out(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """
    How many jobs of a build can be singled out, by how much an intruder knows and by how coarse the record is made.

    Returns
    -------
    DataFrame
        knows, made_coarser ("as kept" first, then step upon step), jobs, singled_out (jobs that nobody else fits),
        share_singled_out, smallest_group (k of k-anonymity), fewest_outcomes_in_a_group (l of l-diversity).
    """
    records = jobs_as_known(con)
    rows = [_look(records, knows, AS_KEPT) for knows in (*LOOKS, *_looks_at_the_plate(records))]
    for column, says, expression in COARSER:
        records = records.with_columns(expression.alias(column))
        rows.append(_look(records, KNOWN, says))
    return pl.DataFrame(rows)


def singling_out_of_the_share(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """
    The same of what `export --share` would print today, as one more row.

    Returns
    -------
    DataFrame
        Columns of `singling_out`. jobs: all that its totals are of; singled_out: jobs in cells of one that would be
        printed; smallest_group: jobs, works or fixes in the smallest cell, before rounding. An export of rows for the firm itself
        (`export`) holds what the store holds.
    """
    counted = count_cells(con)
    printed = counted.counts[publishable(counted.counts, counted.sums)]
    jobs = sum(
        int(count)
        for (what, split), count in zip(counted.cells, counted.counts, strict=True)
        if what == "jobs" and not split
    )
    row = {
        "knows": "all that export --share prints",
        "made_coarser": "counted by ten and more",
        "jobs": jobs,
        "singled_out": int((printed == 1).sum()),
        "share_singled_out": float((printed == 1).sum() / jobs) if jobs else None,
        "smallest_group": int(printed.min()) if printed.size else 0,
        "fewest_outcomes_in_a_group": None,
    }
    return pl.DataFrame([row], schema_overrides={"fewest_outcomes_in_a_group": pl.Int64})


def _looks_at_the_plate(records: pl.DataFrame) -> list[tuple[str, ...]]:
    """One look more where blocks or weeks are kept: who saw the plate knows the make too."""
    kept = [name for name in ON_THE_PLATE if records.get_column(name).null_count() < records.height]
    return [("area", "unit_type", "month", "make", *kept)] if kept else []


def jobs_as_known(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Dated jobs with the columns that an outsider may know, and the outcome."""
    frame: pl.DataFrame = con.sql(
        "select j.area, j.unit_type, strftime(j.reported_on, '%Y-%m') as month, j.reported_on, j.symptom, j.make, j.outcome, "
        "m.serial_block, m.made_week from tables.jobs as j left join tables.machines as m on m.machine_no = j.machine_no "
        "where j.reported_on is not null"
    ).pl()
    return frame


def _look(records: pl.DataFrame, knows: Sequence[str], made_coarser: str) -> dict[str, Any]:
    alone = standing_alone(records, knows)
    return {
        "knows": ", ".join(IN_WORDS[name] for name in knows),
        "made_coarser": made_coarser,
        "jobs": records.height,
        "singled_out": alone,
        "share_singled_out": alone / records.height if records.height else None,
        "smallest_group": k_anonymity(records, knows),
        "fewest_outcomes_in_a_group": l_diversity(records, knows, "outcome"),
    }
