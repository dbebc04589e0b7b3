"""The sheet on which a job is written down so that it can be read: one page to print, and a workbook that loads as it is."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pipeline.errors import UnreadableError, WrongUseError
from pipeline.job_sheet.page import page
from pipeline.job_sheet.workbook import workbook

WRITERS: dict[str, Callable[[], bytes]] = {".html": lambda: page().encode(), ".xlsx": workbook}
USUAL_NAMES = (Path("job-sheet.html"), Path("job-sheet.xlsx"))


def write_sheets(output: Path | None) -> tuple[Path, ...]:
    """
    Write the sheet to print, the workbook, or both.

    Parameters
    ----------
    output : Path or None
        File to write, .html or .xlsx by its ending; None for both, under their usual names in this folder.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    WrongUseError
        If the ending is another one, or a file is there already: a sheet that somebody filled would be lost.
    UnreadableError
        If a file cannot be written.
    """
    paths = USUAL_NAMES if output is None else (output,)
    for path in paths:
        _check(path)
    for path in paths:
        _write(path, WRITERS[path.suffix.lower()]())
    return paths


def _check(path: Path) -> None:
    if path.suffix.lower() not in WRITERS:
        raise WrongUseError(
            f"A job sheet is a page to print (.html) or a workbook (.xlsx), but the name was {path}."
        )
    if path.exists():
        raise WrongUseError(
            f"{path} is there already, and a sheet that somebody filled would be lost. Name another file with --output."
        )


def _write(path: Path, content: bytes) -> None:
    try:
        with path.open("xb") as file:
            file.write(content)
    except OSError as error:
        raise UnreadableError(
            f"{path} could not be written ({error.strerror}). Name another file with --output."
        ) from None
