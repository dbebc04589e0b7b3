"""
Typed cells as text, in one way of writing: the same log is the same rows whichever kind of file it came in.

A moment is `YYYY-MM-DDTHH:MM`, with seconds only where they are not 0, and a day alone at midnight; a number is the
shortest decimal that means it, without exponent and without `.0`; a span or a time of day is `H:MM`; true and false
are yes and no; nothing is an empty text.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import polars as pl

_DAY = r"\d{4}-\d\d-\d\d"
# A zone of no difference is written Z.
_ZONE = r"(?:(Z|[+-]\d\d:?\d\d))?"
_MIDNIGHT = rf"^({_DAY})[T ]00:00(?::00(?:\.0*)?)?$"
_MOMENT = rf"^({_DAY})[T ](\d\d:\d\d)(?::00(?:\.0*)?|(:\d\d)\.0*|(:\d\d(?:\.\d*?[1-9])?)0*)?{_ZONE}$"
_NO_DIFFERENCE = rf"^({_DAY}T.*)[+-]00:?00$"
_LONG_DECIMAL = r"^(?:-?(?:0|[1-9]\d*)\.\d*0|-0)$"
_NOUGHTS = {"-0": "0", "-": "0"}  # what is left of a negative nought without its noughts
# What may have to be written anew: a blank for the T, more than minutes, midnight.
_ODD_MOMENT = rf"^{_DAY}(?: \d\d:|T\d\d:\d\d.|T00:00)"
_SHORTEST_MOMENT = 16
# No calendar goes further from 1970 (about the year 9999), and polars stops where it cannot.
_FAR_IN_DAYS = 2_932_896
_A_SECOND = {"ms": 10**3, "us": 10**6, "ns": 10**9}


def column_text(column: pl.Series) -> pl.Series:
    """
    A column of any type as text.

    Parameters
    ----------
    column : series
        Of texts, numbers, truth values, days, moments, times or spans; lists and records are not written here.

    Returns
    -------
    series of text
        Without nulls.
    """
    return _typed_text(column).fill_null("").alias(column.name)


def _typed_text(column: pl.Series) -> pl.Series:
    kind = column.dtype
    if isinstance(kind, pl.Datetime):
        return _moment_text(column, kind)
    if kind.is_float():
        return _float_text(column)
    write = _WRITERS.get(kind.base_type())
    return column.cast(pl.String) if write is None else write(column)


def _moment_text(column: pl.Series, kind: pl.Datetime) -> pl.Series:
    far = min(_FAR_IN_DAYS * 86_400 * _A_SECOND[kind.time_unit], 2**63 - 1)
    if kind.time_zone is None:
        return uniform(_with_far(column, far, lambda at: at.dt.to_string("%Y-%m-%dT%H:%M:%S%.f")))
    utc = column.dt.convert_time_zone("UTC")
    return uniform(_with_far(utc, far, lambda at: at.dt.to_string("%Y-%m-%dT%H:%M:%S%.fZ")))


def _with_far(column: pl.Series, far: int, text: Callable[[pl.Series], pl.Series]) -> pl.Series:
    """Texts of days or moments; of one beyond any calendar, which is damaged, its number: no date can be read in it."""
    number = column.to_physical()
    near = number.is_between(-far, far)
    if near.all():
        return text(column)
    dated = text(column.to_frame("c").select(pl.when(near).then(pl.col("c"))).to_series())
    return pl.DataFrame({"t": dated, "n": number.cast(pl.String)}).select(pl.coalesce("t", "n")).to_series()


def number_text(number: float) -> str:
    """
    Shortest decimal that means a number, without exponent.

    >>> number_text(48.0), number_text(0.1), number_text(1e-7), number_text(-0.0), number_text(float("nan"))
    ('48', '0.1', '0.0000001', '0', '')
    """
    if number != number:  # noqa: PLR0124 -- only "not a number" is unlike itself
        return ""
    text = repr(number)
    if "e" in text:
        text = f"{Decimal(text):f}"
    return "0" if number == 0 else text.removesuffix(".0")


def _float_text(column: pl.Series) -> pl.Series:
    text = column.fill_nan(None).cast(pl.String).str.strip_suffix(".0")
    odd = (text.str.contains("e", literal=True) | (text == "-0")).fill_null(value=False).arg_true()
    if not len(odd):
        return text
    # Through the text: it is the shortest one of this width of number.
    short = [number_text(float(each)) for each in text.gather(odd).to_list()]
    return text.scatter(odd, pl.Series(short, dtype=pl.String))


def _span_text(column: pl.Series) -> pl.Series:
    span = column.to_frame("span").select(pl.col("span").dt.total_microseconds().alias("us"))
    whole = pl.col("us").abs()
    seconds = pl.concat_str(
        pl.lit(":"),
        (whole // 1_000_000 % 60).cast(pl.String).str.zfill(2),
        pl.lit("."),
        (whole % 1_000_000).cast(pl.String).str.zfill(6),
    ).str.replace(r"\.?0*$", "")
    return span.select(
        pl.concat_str(
            pl.when(pl.col("us") < 0).then(pl.lit("-")).otherwise(pl.lit("")),
            (whole // 3_600_000_000).cast(pl.String),
            pl.lit(":"),
            (whole // 60_000_000 % 60).cast(pl.String).str.zfill(2),
            pl.when(whole % 60_000_000 != 0).then(seconds).otherwise(pl.lit("")),
        )
    ).to_series()


_WRITERS: dict[pl.datatypes.DataTypeClass, Callable[[pl.Series], pl.Series]] = {
    pl.Boolean: lambda column: column.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String),
    pl.Decimal: lambda column: uniform(column.cast(pl.String)),
    pl.Date: lambda column: _with_far(column, _FAR_IN_DAYS, lambda days: days.cast(pl.String)),
    pl.Time: lambda column: _span_text(column.cast(pl.Duration("us"))),
    pl.Duration: _span_text,
    # Old programs write texts as plain bytes.
    pl.Binary: lambda column: pl.Series(
        [None if each is None else each.decode(errors="replace") for each in column.to_list()],
        dtype=pl.String,
    ),
}


def uniform_cells(cells: pl.DataFrame) -> pl.DataFrame:
    """`uniform` of every column of a frame of texts; one look at all of them passes most columns by."""
    every = pl.all()
    may_differ = every.str.ends_with("0").any() | (every.str.len_bytes().max() >= _SHORTEST_MOMENT)
    differing = [column.name for column in cells.select(may_differ) if column.item()]
    return cells.with_columns(uniform(cells.get_column(name)) for name in differing)


def uniform(cells: pl.Series) -> pl.Series:
    """
    Texts with every number and moment written the one way; other texts as they are.

    A file of texts writes 48.00 and `2024-03-04 14:05:00` where a typed file has a number and a moment: only so are
    they the same row. A number with leading zeros is a code and stays as it is.
    """
    return _uniform_moments(_uniform_numbers(cells))


def _uniform_numbers(cells: pl.Series) -> pl.Series:
    # Only what ends so can be written in a shorter way; most columns have none, and are done.
    at = cells.str.ends_with("0").arg_true()
    if not len(at):
        return cells
    at = at.filter(cells.gather(at).str.contains(_LONG_DECIMAL))
    short = cells.gather(at).str.strip_chars_end("0").str.strip_suffix(".").replace(_NOUGHTS)
    return cells.clone().scatter(at, short) if len(at) else cells


def _uniform_moments(cells: pl.Series) -> pl.Series:
    # Nearly all texts are shorter than a moment, which is quicker to see than how they are written.
    at = (cells.str.len_bytes() >= _SHORTEST_MOMENT).arg_true()
    if not len(at):
        return cells
    odd = cells.gather(at).str.contains(_ODD_MOMENT)
    patterns = [(_MIDNIGHT, "$1"), (_MOMENT, "${1}T$2$3$4$5"), (_NO_DIFFERENCE, "${1}Z")]
    return _replaced(cells, at.filter(odd), patterns)


def _replaced(cells: pl.Series, at: pl.Series, patterns: list[tuple[str, str]]) -> pl.Series:
    if not len(at):
        return cells
    found = cells.gather(at)
    for pattern, value in patterns:
        found = found.str.replace(pattern, value)
    return cells.clone().scatter(at, found)
