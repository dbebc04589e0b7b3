"""SQL for one cell as its typed value, and for the shape of a cell that may not be shown."""

from __future__ import annotations

from pipeline.normalise.forms import ZONE

LONGEST_SHAPE = 30


def cell(column: str) -> str:
    """The received cell without spaces around it; an empty one is null."""
    return f"nullif(trim(rows.\"{column}\"), '')"


def with_offset(text: str) -> str:
    """The moment that a text with an offset of its own names, as TIMESTAMPTZ; null for any other text."""
    # A day alone ends like an offset ("-05") but is shorter.
    return f"case when length({text}) > 16 and regexp_matches({text}, '{ZONE}$') then try_cast({text} as timestamptz) end"


def utc(local: str, zoned: str, zone: str) -> str:
    """A moment in UTC: by its own offset where it has one, else by the file's zone."""
    placed = local if zone == "UTC" else f"timezone('UTC', timezone('{zone}', {local}))"
    return f"case when {zoned} is not null then timezone('UTC', {zoned}) else {placed} end"


def local_day(local: str, zoned: str, zone: str) -> str:
    """The day in the file's zone on which a moment falls."""
    return f"cast(case when {zoned} is not null then timezone('{zone}', {zoned}) else {local} end as date)"


def shape(text: str) -> str:
    """What a cell looks like, without what it says: letters a or A, digits 9, the rest kept."""
    capitals = rf"regexp_replace({text}, '\p{{Lu}}', 'A', 'g')"
    # The mark of a capital is a letter itself and has to be left alone.
    letters = rf"regexp_replace({capitals}, '[^\P{{L}}A]', 'a', 'g')"
    return rf"substr(regexp_replace({letters}, '\p{{N}}', '9', 'g'), 1, {LONGEST_SHAPE})"


def quoted(text: str) -> str:
    """A SQL literal."""
    return "'" + text.replace("'", "''") + "'"
