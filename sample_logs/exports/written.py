"""What an export is told by: its habits, what was planted in it, and how offices write days, times and amounts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from sample_logs.jobs import Row

UNREADABLE_DATE = "cannot be read as a date or time"
NEGATIVE_MINUTES = "negative minutes"
NO_KIND = "no kind of machine"
TOTAL = "a total, no line of work"
HEADER_AGAIN = "the header again"


@dataclass
class Planted:
    """
    What was planted in one export.

    Attributes
    ----------
    rows : dict of str to int
        Rows below the header, by file.
    set_aside : Counter of str
        Rows that no figure may use, by reason.
    repeated : int
        Rows that say again, word for word, what the file has said already.
    lost : set of int
        Lines of the log, by place, that stand in no usable row.
    job_ids : list of str
        True job of each row, where the export does not say it.
    clean : list of dict
        Rows of the standard log that tell neither more nor less than the usable rows of the export.
    """

    rows: dict[str, int] = field(default_factory=dict)
    set_aside: Counter[str] = field(default_factory=Counter)
    repeated: int = 0
    lost: set[int] = field(default_factory=set)
    job_ids: list[str] = field(default_factory=list)
    clean: list[Row] = field(default_factory=list)


def at(text: str) -> datetime:
    """Moment of a standard log."""
    return datetime.fromisoformat(text)


def dotted_day(text: str) -> str:
    """04.03.2026; "" stays ""."""
    return dotted(text)[:10]


def dotted(text: str) -> str:
    """04.03.2026 14:05; "" stays ""."""
    return at(text).strftime("%d.%m.%Y %H:%M") if text else ""


def slashed_day(text: str) -> str:
    """04/03/2026; "" stays ""."""
    return at(text).strftime("%d/%m/%Y") if text else ""


def hours_and_minutes(minutes: str) -> str:
    """45 min, 1h10; "" stays ""."""
    hours, rest = divmod(int(minutes or 0), 60)
    if not minutes:
        return ""
    return f"{hours}h{rest:02d}" if hours else f"{rest} min"


def with_comma(amount: str) -> str:
    """1.234,50 for 1234.50; "" stays ""."""
    if not amount:
        return ""
    return f"{Decimal(amount):,.2f}".translate(str.maketrans({",": ".", ".": ","}))


def repeats(rows: list[tuple[object, ...]]) -> int:
    """How many rows say again what another one says."""
    return len(rows) - len(set(rows))


def without(row: Row, columns: frozenset[str]) -> Row:
    """A row of the standard log as it would be if some columns had never been kept."""
    return {name: "" if name in columns else value for name, value in row.items()}
