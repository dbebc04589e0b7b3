"""What an owner looks at once a month: what is new, comebacks and whose bill, machines that wait, trips in vain, one thing more."""

from __future__ import annotations

from pathlib import Path

import duckdb

from pipeline.show import page_path, write
from pipeline.store.folder import Store
from pipeline.summary.page import page
from pipeline.summary.period import last_month, since_last_load
from pipeline.summary.summing import Summary, summary_of, with_earning

__all__ = ["DEFAULT_NAME", "Summary", "month", "news", "page", "write_month"]

DEFAULT_NAME = "month.html"


def month(con: duckdb.DuckDBPyConnection) -> Summary:
    """The last whole month of a build."""
    return with_earning(con, summary_of(con, last_month(con)))


def news(con: duckdb.DuckDBPyConnection) -> tuple[Summary, bool]:
    """What came since the last load, and True; where it is the first, or brought nothing newer, the last whole month, and False."""
    period = since_last_load(con)
    return summary_of(con, period or last_month(con)), period is not None


def write_month(store: Store, output: Path | None) -> tuple[Path, Summary]:
    """
    Write the summary of the last whole month of a store's log: one page that prints on one side of A4.

    Raises
    ------
    CannotAnswerError
        If the log holds no job with a date.
    UnreadableError
        If the file could not be written, or is no .html.
    """
    path = page_path(output, DEFAULT_NAME)
    with store.connect() as con:
        found = month(con)
    write(page(found).encode(), path)
    return path, found
