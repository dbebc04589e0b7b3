"""The shared export: what is published, and the statement of what was done to it."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.sharing.counted import ALL, TABLES, Counted, count_cells
from pipeline.sharing.protection import ROUNDED_TO, THRESHOLD, Mask, publishable, rounded

COLUMNS = tuple(dict.fromkeys(column for table in TABLES for column in table.by))


@dataclass(frozen=True)
class SharedExport:
    """
    Cells to share.

    Attributes
    ----------
    cells : frame
        counted (what is counted), one column per COLUMNS ("all" where the cell does not split by it), count
        (rounded to 5).
    statement : str
        What was done, in the words of ISO/IEC 20889.
    """

    cells: pl.DataFrame
    statement: str


def shared_export(con: duckdb.DuckDBPyConnection) -> SharedExport:
    """
    Cells of at least ten jobs, from which no smaller count can be worked back.

    Raises
    ------
    CannotAnswerError
        If the log is too small to share anything of it.
    """
    counted = count_cells(con)
    shown = publishable(counted.counts, counted.sums)
    if not shown.any():
        raise CannotAnswerError(
            f"There is nothing to share: no group holds {THRESHOLD} jobs or more. Share it when the log has grown."
        )
    return SharedExport(_frame(counted, shown), _statement(counted, shown))


def _frame(counted: Counted, shown: Mask) -> pl.DataFrame:
    printed = rounded(counted.counts)
    rows = []
    for number in np.flatnonzero(shown).tolist():
        what, split = counted.cells[number]
        rows.append(
            {
                "counted": what,
                **dict.fromkeys(COLUMNS, ALL),
                **dict(split),
                "count": int(printed[number]),
            }
        )
    schema = {"counted": pl.String, **dict.fromkeys(COLUMNS, pl.String), "count": pl.Int64}
    return pl.DataFrame(rows, schema=schema)


def kept_share(counted: Counted, shown: Mask) -> dict[str, float]:
    """Share of the counted jobs (works, fixes) that lie in published cells split both ways, by table."""
    kept: dict[str, list[int]] = {}
    for number, (what, split) in enumerate(counted.cells):
        if len(split) == 2:
            sums = kept.setdefault(f"{what} by {split[0][0]} and {split[1][0]}", [0, 0])
            count = int(counted.counts[number])
            sums[0] += count * bool(shown[number])
            sums[1] += count
    return {name: part / whole for name, (part, whole) in kept.items()}


def _statement(counted: Counted, shown: Mask) -> str:
    small = (counted.counts > 0) & (counted.counts < THRESHOLD)
    more = (counted.counts >= THRESHOLD) & ~shown
    kept = "\n".join(f"  {name}: {share:.0%}" for name, share in kept_share(counted, shown).items())
    return f"""What was done to this export (terms of ISO/IEC 20889)

Aggregation: the export holds counts only, no record of any job, machine, address or person. The smallest
 count is of {THRESHOLD} jobs (works, fixes).
Generalisation: dates are months; addresses are areas; symptoms, kinds of machine and outcomes are the words of the
 vocabulary, and a word that nobody has settled is counted under "other words".
Attribute suppression: technicians, machine and site pseudonyms, serials, makes, models, notes, money and exact times
 are left out.
Local suppression: {int(small.sum())} of {counted.counts.size} cells count fewer than {THRESHOLD} and are left out (primary); {int(more.sum())} more are left
 out so that none of those can be worked back from totals (complementary). This was checked by linear programming
 over every total in the export together: of each cell left out, a reader can work out no more than that it may hold
 anything from 1 to {THRESHOLD - 1} jobs.
Rounding: every count is rounded to the nearest {ROUNDED_TO}, so totals need not add up.

Jobs, works or fixes that lie in the cells published, by table:
{kept}

What remains: somebody who knows of a job may still learn how common its kind is in its area. Two exports of one log at
different times can be compared with each other; share one at a time, and not every month.
"""
