"""The pocket sheet: one page for a phone that needs no server and no network, and prints as one sheet a symptom."""

from __future__ import annotations

from pathlib import Path

from pipeline.pocket_sheet.cells import Pocket, pocket
from pipeline.pocket_sheet.page import page
from pipeline.show import page_path, write
from pipeline.store.folder import Store

DEFAULT_NAME = "pocket-sheet.html"


def write_pocket_sheet(store: Store, output: Path | None) -> tuple[Path, Pocket]:
    """
    Write the sheet of a store's log.

    Raises
    ------
    CannotAnswerError
        If no symptom of a kind of machine has ten fixes of a kind that held.
    UnreadableError
        If the file could not be written, or is no .html.
    """
    path = page_path(output, DEFAULT_NAME)
    with store.connect() as con:
        found = pocket(con, store.vocabulary)
    write(page(found, store.vocabulary).encode(), path)
    return path, found
