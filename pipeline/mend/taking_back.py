"""A filled-in list taken back: all of it or none, kept beside what was received, then everything is built again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.build import build, is_current
from pipeline.errors import CannotAnswerError
from pipeline.intake.layout_files import known_layouts
from pipeline.load import layouts_of
from pipeline.mend.checking import Checking
from pipeline.mend.list_file import read_list
from pipeline.mend.listing import to_mend
from pipeline.settings import load_settings
from pipeline.store import corrections
from pipeline.store.folder import Store


@dataclass(frozen=True)
class MendReport:
    """What was taken back: cells and rows mended, values still empty, values whose rows are used, rows still aside."""

    cells: int
    rows: int
    empty: int
    used: int
    still_mendable: int
    still_broken: int

    def text(self) -> str:
        """Lines for the user."""
        lines = [
            f"{_counted(self.cells, 'cell')} of {_counted(self.rows, 'row')} mended, and everything built again."
        ]
        if not self.cells:
            lines = ["No value is filled in; nothing was changed."]
        if self.used:
            lines.append(f"{_counted(self.used, 'value')} left out: the row is used as it is.")
        if self.empty and self.cells:
            lines.append(f"{_counted(self.empty, 'cell')} of the list still empty.")
        aside = self.still_mendable + self.still_broken
        lines.append(
            f"{_counted(aside, 'row')} still set aside, of which {self.still_mendable:,} can be mended "
            "(`mendstat mend` lists them)."
            if aside
            else "No row is set aside any more."
        )
        return "\n".join(lines)


def take_back(store_path: Path, path: Path, *, progress: Callable[[str], None] | None = None) -> MendReport:
    """
    Take the values of a filled-in list, all or none, and build again.

    Parameters
    ----------
    store_path : Path
        The store.
    path : Path
        The list, CSV or .xlsx, also as an office program saved it.
    progress : callable or None
        Told what is being done.

    Raises
    ------
    UnreadableError
        If the list cannot be read or one of its values cannot be taken.
    CannotAnswerError
        If nothing was ever received.
    """
    say = progress or _silent
    given = read_list(path)
    filled = [each for each in given if each.value]
    store = Store(store_path)
    if not store.manifest.active:
        raise CannotAnswerError(f"Nothing is loaded in {store_path} yet. Run `mendstat load FILE` first.")
    with store.lock():
        store.clear_leftovers()
        settings = load_settings(store.folder)
        received = store.manifest
        layouts = layouts_of(received, known_layouts(store.layouts))
        # What a value is checked against must be what is there now: an earlier load may have died before its build.
        if not is_current(store, received):
            build(store, settings, layouts, say)
            store.clear_leftovers()
        say("Checking the values given")
        kept, used = Checking(store, settings, layouts, path).corrections(filled)
        if kept:
            corrections.keep(store.corrections, kept)
            build(store, settings, layouts, say)
        left = to_mend(store)
    rows = len({correction.row for correction in kept})
    return MendReport(len(kept), rows, len(given) - len(filled), used, left.mendable, left.others)


def _silent(_text: str) -> None:
    pass


def _counted(many: int, what: str) -> str:
    return f"{many:,} {what}" if many == 1 else f"{many:,} {what}s"
