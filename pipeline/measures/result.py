"""The shape every figure comes in: it never travels alone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import polars as pl

CONTRACT: dict[str, pl.DataType | type[pl.DataType]] = {
    "value": pl.Float64,
    "low": pl.Float64,
    "high": pl.Float64,
    "numerator": pl.Float64,
    "denominator": pl.Float64,
    "unit": pl.String,
    "level": pl.Float64,
    "sample": pl.String,
    "basis": pl.String,
    "note": pl.String,
}


def frame(rows: Sequence[dict[str, Any]], groups: Sequence[str], extras: Sequence[str] = ()) -> pl.DataFrame:
    """
    Result rows as a frame: group columns, the contract's columns, extra columns, in that order.

    A number that cannot be given (infinite, not a number) becomes null: nothing else on a page would be true.
    `value` is null where the sample is too few to say.
    """
    columns = [*groups, *CONTRACT, *extras]
    clean = [{column: _clean(row.get(column)) for column in columns} for row in rows]
    for row in clean:
        if row["sample"] == "too few":
            row["value"] = None
    schema: dict[str, Any] = {column: CONTRACT.get(column) for column in columns}
    result = pl.DataFrame(clean, schema=columns, infer_schema_length=None)
    return result.with_columns(pl.col(name).cast(kind) for name, kind in schema.items() if kind is not None)


def with_note(*parts: str) -> str:
    """Join what a row has to say, leaving out what is empty."""
    return "; ".join(part for part in parts if part)


def more_noted(result: pl.DataFrame, note: str) -> pl.DataFrame:
    """The same rows with one more remark behind their notes; as they are where there is nothing to say."""
    if not note:
        return result
    both = [with_note(said or "", note) for said in result["note"]]
    return result.with_columns(pl.Series("note", both, dtype=pl.String))


def _clean(value: object) -> object:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value.item() if hasattr(value, "item") else value


def sorted_rows(result: pl.DataFrame, groups: Iterable[str]) -> pl.DataFrame:
    """Rows in the order of their groups, so that the same question always prints the same."""
    groups = list(groups)
    return result.sort(groups, nulls_last=True, maintain_order=True) if groups and result.height else result
