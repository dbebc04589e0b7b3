"""What a person filled in, as the text that is kept: ISO dates, decimal points, words without anybody's name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

import duckdb
import polars as pl

from pipeline.intake.scrub import scrubbed
from pipeline.intake.transform import care_of
from pipeline.normalise.forms import TYPED, Form, forms_of
from pipeline.standard_log import Column

LIKE = {
    "moment": "2026-03-04 or 2026-03-04T14:05",
    "day": "2026-03-04",
    "minutes": "40 or 1h30",
    "number": "40 or 12.5",
    "money": "12.50",
}


@dataclass(frozen=True)
class Readings:
    """Ways in which a value can be read; exactly one when it can be kept."""

    ways: tuple[str, ...]


def as_kept(
    con: duckdb.DuckDBPyConnection, column: Column, own: Form | None, values: Sequence[str]
) -> list[Readings]:
    """
    Texts to keep for the values given for one column of one file.

    A value is read in the preferred form and in the form that the column has. Where neither reads it, another form
    may, provided that no two of them read it differently: 31/12/2026 is one day, 04/03/2026 may be two.

    Parameters
    ----------
    con : connection
        Any; only expressions are worked out on it.
    column : Column
        Of the standard log.
    own : Form or None
        The form of the column in its file.
    values : sequence of str
        As given, not empty.
    """
    if column.kind not in TYPED:
        return [Readings((text,)) for text in scrubbed(pl.Series(values, dtype=pl.String), care_of(column))]
    forms = forms_of(TYPED[column.kind])
    read = ", ".join(form.sql("value") for form in forms)
    rows = con.execute(
        f"select {read} from (select unnest($1::varchar[]) as value)", [list(values)]
    ).fetchall()
    return [
        _readings(value, dict(zip(forms, row, strict=True)), own)
        for value, row in zip(values, rows, strict=True)
    ]


def _readings(value: str, found: dict[Form, object], own: Form | None) -> Readings:
    preferred = next(iter(found))
    trusted = [form for form in (preferred, own) if form in found and found[form] is not None]
    others = [form for form in found if found[form] is not None]
    by_value = {found[form]: form for form in reversed(trusted or others)}
    # As written where it is ISO already: a moment may have an offset of its own.
    return Readings(tuple(value if form == preferred else _text(read) for read, form in by_value.items()))


def _text(value: object) -> str:
    if isinstance(value, datetime):
        if value.time() == datetime.min.time():
            return value.date().isoformat()
        return value.isoformat(timespec="seconds" if value.second else "minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        value = Decimal(repr(value))
    if isinstance(value, Decimal):
        text = f"{value:f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    return str(value)
