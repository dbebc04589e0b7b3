"""Which share of jobs, visits and lines carries each column of the standard log, in all and by month."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb

from pipeline.log_check.costs import FIELDS

# Tables of counts, what they count, and the column that says how many there are.
_TABLES = {"job_fields": "jobs", "visit_fields": "visits", "line_fields": "lines"}
WORKS = "lines with work on a part"


@dataclass(frozen=True)
class Field:
    """How many of what is counted carry a column in one month; `month` is its first day, None where none is known."""

    column: str
    counted: str
    month: date | None
    filled: int
    of: int


def read_fields(con: duckdb.DuckDBPyConnection) -> defaultdict[int, list[Field]]:
    """Counts by file, in the order of the tables."""
    found: defaultdict[int, list[Field]] = defaultdict(list)
    for table, counted in _TABLES.items():
        result = con.execute(f"select * from tables.{table} order by file_no, month_on")
        names = [column[0] for column in result.description or ()]
        for values in result.fetchall():
            row = dict(zip(names, values, strict=True))
            file_no, month, of = row.pop("file_no"), row.pop("month_on"), row.pop(f"count_{counted}")
            works = row.pop("count_works", 0)
            for column, filled in row.items():
                # Most lines of a visit have no part: only of those that say they worked on one is it missed.
                is_part = column == "part_no" and counted == "lines"
                field = Field(column, WORKS if is_part else counted, month, filled, works if is_part else of)
                found[file_no].append(field)
    return found


def completeness(fields: Sequence[Field]) -> list[dict[str, Any]]:
    """One dict per column: column, counted, filled, of, share (None where nothing is counted)."""
    total: dict[tuple[str, str], tuple[int, int]] = {}
    for field in fields:
        filled, of = total.get((field.column, field.counted), (0, 0))
        total[field.column, field.counted] = (filled + field.filled, of + field.of)
    return [
        {"column": column, "counted": counted, "filled": filled, "of": of, "share": _share(filled, of)}
        for (column, counted), (filled, of) in total.items()
    ]


def by_month(fields: Sequence[Field]) -> list[dict[str, Any]]:
    """One dict per month and column that figures lean on: month, column, counted, filled, of, share."""
    order = {column: place for place, column in enumerate(FIELDS)}
    dated = [
        (field.month, order[field.column], field) for field in fields if field.month and field.column in order
    ]
    return [
        {
            "month": f"{month:%Y-%m}",
            "column": field.column,
            "counted": field.counted,
            "filled": field.filled,
            "of": field.of,
            "share": _share(field.filled, field.of),
        }
        for month, _, field in sorted(dated, key=lambda each: each[:2])
    ]


def _share(filled: int, of: int) -> float | None:
    return round(filled / of, 4) if of else None
