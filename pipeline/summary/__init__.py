"""What an owner looks at once a month: what is new, comebacks and whose bill, machines that wait, trips in vain, one thing more."""

from __future__ import annotations

from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.show import write
from pipeline.store.folder import Store
from pipeline.summary.page import page
from pipeline.summary.period import last_month
from pipeline.summary.summing import Summary, summary_of

__all__ = ["DEFAULT_NAME", "Summary", "write_month"]

DEFAULT_NAME = "month.html"


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
    path = output or Path(DEFAULT_NAME)
    if path.suffix.lower() not in (".html", ".htm"):
        raise UnreadableError(f"{path} is no page: name a file that ends in .html with --output.")
    with store.connect() as con:
        found = summary_of(con, last_month(con))
    write(page(found).encode(), path)
    return path, found
