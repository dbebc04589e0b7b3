"""What a layout lets a serial say before it is replaced: the block it belongs to, and the week its machine was made."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.intake.identity import cleaned, pseudonyms
from pipeline.store.key import Key

# What is cut from the end of a serial leaves a block of up to a thousand machines made one after the other.
CUT = 3
BLOCK_DOMAIN = "block"
ANY_MAKE = ""
# Before it no maker numbered by weeks (assumption); of two digits, 80 to 99 are of the last century.
FIRST_YEAR, LAST_CENTURY_FROM = 1950, 80
_PATTERN = re.compile(r"[?]*(?:(?:YY|YYYY)[?]*WW|WW[?]*(?:YY|YYYY))[?]*[*]?")
PATTERN_RULE = (
    "must be a pattern over the serial without its spaces and hyphens: YY or YYYY for the digits of the year, WW for those "
    'of the week, ? for any other character, * for whatever follows, such as "??YYWW*"'
)


@dataclass(frozen=True)
class SerialRule:
    """
    What is read from the serials of a kind of file.

    Attributes
    ----------
    block : bool
        Whether the block is kept: the serial without its last three characters.
    made_week : mapping of str to str
        Pattern of the year and week of making, by make; under ANY_MAKE the one of all makes.
    """

    block: bool = False
    made_week: Mapping[str, str] | None = None


def is_pattern(text: str) -> bool:
    """
    Whether a text says where year and week stand.

    A pattern holds no character of a serial itself, so that none can be written into a layout.

    >>> is_pattern("??YYWW*"), is_pattern("WWYYYY"), is_pattern("AB12YYWW"), is_pattern("YYYWW")
    (True, True, False, False)
    """
    return _PATTERN.fullmatch(text) is not None


def blocks(serials: pl.Series, key: Key) -> pl.Series:
    """
    Keyed pseudonyms of serial blocks; null where a serial is too short to have one.

    A block that one machine has is nearly its serial, and how many share it is known only once everything was received.
    So what is written says which machines share a block, and nothing of the block; a build keeps those that ten share.
    """
    clean = cleaned(serials)
    says_more = clean.str.len_chars() > CUT
    name = clean.name
    cut = pl.when(says_more).then(pl.col(name).str.head(pl.col(name).str.len_chars().cast(pl.Int64) - CUT))
    return pseudonyms(clean.to_frame().select(cut.alias(name)).to_series(), BLOCK_DOMAIN, key)


def made_weeks(serials: pl.Series, makes: pl.Series | None, patterns: Mapping[str, str]) -> pl.Series:
    """
    The Monday of the week of making, as an ISO date; null where a serial does not fit the pattern or names no week.

    Parameters
    ----------
    serials : series of text
    makes : series of text or None
        As written, of equal length; None where the file has none.
    patterns : mapping of str to str
        Pattern by make, compared without case and outer spaces; that of ANY_MAKE for every other make.
    """
    clean = cleaned(serials).alias("serial")
    nobody = pl.repeat(None, clean.len(), dtype=pl.String, eager=True)
    frame = pl.DataFrame([clean, (nobody if makes is None else makes).alias("make")])
    own = {_comparable(name): pattern for name, pattern in patterns.items() if name != ANY_MAKE}
    written = pl.col("make").str.strip_chars().str.to_lowercase()
    week = _week(patterns[ANY_MAKE]) if ANY_MAKE in patterns else pl.lit(None, dtype=pl.String)
    for name, pattern in own.items():
        week = pl.when(written == name).then(_week(pattern)).otherwise(week)
    found: pl.Series = frame.select(week.alias(serials.name)).to_series()
    return found.replace_strict(_mondays(found), default=None, return_dtype=pl.String)


def _week(pattern: str) -> pl.Expr:
    """Year and week as written, such as 19|07 or 2019|07."""
    year, week = (_digits(pattern, letter) for letter in "YW")
    return pl.concat_str(
        pl.col("serial").str.extract(year), pl.col("serial").str.extract(week), separator="|"
    )


def _digits(pattern: str, letter: str) -> str:
    """A regular expression whose group is the digits under a letter."""
    regex = ""
    for run in re.finditer(r"(.)\1*", pattern):
        sign, length = run.group(1), len(run.group())
        if sign == "*":
            regex += ".*"
        elif sign == "?":
            regex += f".{{{length}}}"
        else:
            digits = f"[0-9]{{{length}}}"
            regex += f"({digits})" if sign == letter else digits
    return f"^{regex}$"


def _mondays(weeks: pl.Series) -> dict[str, str]:
    """Distinct weeks as written to the Monday of each; those that no calendar has are left out."""
    found = {}
    for text in weeks.drop_nulls().unique().to_list():
        year, week = (int(digits) for digits in text.split("|"))
        if year < 100:
            year += 1900 if year >= LAST_CENTURY_FROM else 2000
        if year >= FIRST_YEAR:
            try:
                found[text] = date.fromisocalendar(year, week, 1).isoformat()
            except ValueError:
                continue  # no such week
    return found


def _comparable(make: str) -> str:
    return make.strip().lower()
