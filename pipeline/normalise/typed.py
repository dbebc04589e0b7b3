"""SQL for one cell as its typed value, and for the shape of a cell that may not be shown."""

from __future__ import annotations

from pipeline.normalise.forms import ZONE, Form

LONGEST_SHAPE = 30


def cell(column: str) -> str:
    """The cell without spaces around it; an empty one is null."""
    return f"nullif(trim(rows.\"{column}\"), '')"


def local(column: str, form: Form) -> str:
    """A moment as the clock on the wall showed it, before any zone is applied."""
    return form.sql(cell(column))


def utc(column: str, form: Form, zone: str) -> str:
    """A moment in UTC: with its own offset where it has one, else in the file's zone."""
    naive = local(column, form)
    if zone != "UTC":
        naive = f"timezone('UTC', timezone('{zone}', {naive}))"
    return f"case when {_has_offset(column)} then timezone('UTC', {_with_offset(column)}) else {naive} end"


def local_day(column: str, form: Form, zone: str) -> str:
    """The day in the file's zone on which a moment falls."""
    naive = f"cast({local(column, form)} as date)"
    return f"case when {_has_offset(column)} then cast(timezone('{zone}', {_with_offset(column)}) as date) else {naive} end"


def shape(text: str) -> str:
    """What a cell looks like, without what it says: letters a or A, digits 9, the rest kept."""
    capitals = rf"regexp_replace({text}, '\p{{Lu}}', 'A', 'g')"
    # The mark of a capital is a letter itself and has to be left alone.
    letters = rf"regexp_replace({capitals}, '[^\P{{L}}A]', 'a', 'g')"
    return rf"substr(regexp_replace({letters}, '\p{{N}}', '9', 'g'), 1, {LONGEST_SHAPE})"


def _has_offset(column: str) -> str:
    return f"(length({cell(column)}) > 16 and regexp_matches({cell(column)}, '{ZONE}$'))"


def _with_offset(column: str) -> str:
    return f"try_cast({cell(column)} as timestamptz)"
