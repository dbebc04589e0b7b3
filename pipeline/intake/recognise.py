"""Which known layout a file has; where none or several fit, a question instead of a guess."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.intake.block import Header
from pipeline.intake.layouts import Layout, comparable
from pipeline.intake.scrub import scrub
from pipeline.intake.typed import shape
from pipeline.standard_log import LISTS, column_names

HEADERS_SHOWN = 40
STANDARD = "standard-log"
FEWEST_STANDARD = 3  # headers; two may be there by chance
# Columns that no list has: a list of machines whose kind is missing is no log.
ONLY_IN_A_LOG = set(column_names("log")).difference(*(column_names(kind) for kind in LISTS if kind != "log"))
# A date, a clock time, a long number, an e-mail address or a bare number: no name of a column.
_DATA = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d:\d\d|\d{4}|@|^[\d.,\s+-]+$")


def choose_layout(
    name: str,
    headers: Sequence[Header],
    layouts: Mapping[str, Layout],
    kind: str | None = None,
    wanted: str | None = None,
) -> tuple[Layout, Header]:
    """
    Layout of a file, and which of its first records is the header.

    Parameters
    ----------
    name : str
        What to call the file in a message.
    headers : sequence of Header
        Records that may be the header, in the order of the file; the first that fits a layout is.
    layouts : mapping
        All known layouts.
    kind : str or None
        Kind of file asked for, if it was said.
    wanted : str or None
        Name of the layout asked for, if it was said.

    Raises
    ------
    WrongUseError
        If the layout asked for is unknown or does not fit.
    CannotAnswerError
        If none fits, or several do.
    """
    asked = _asked(layouts, kind, wanted)
    for header in headers:
        fitting = [layout for layout in asked if layout.fits(header.names)]
        # The shop described its own files; a layout for everybody's files is not asked then.
        fitting = [layout for layout in fitting if layout.is_own] or fitting
        if len(fitting) == 1:
            return fitting[0], header
        if fitting:
            names = ", ".join(layout.name for layout in fitting)
            raise CannotAnswerError(
                f"{name} fits several layouts ({names}). Which is it? Name it with --layout."
            )
    nearly = _nearly_standard(headers, layouts, kind, wanted)
    if nearly is not None:
        return layouts[STANDARD], nearly
    # A title has fewer fields than the header below it.
    header = max(headers, key=lambda header: header.width)
    if wanted is not None and len(asked) == 1:
        raise WrongUseError(
            f"{name} is not of the layout {wanted}: {_lacking(header, asked[0])}. "
            "Name another layout, or leave --layout out."
        )
    raise CannotAnswerError(
        f"{name} fits no known layout{f' of a list of {kind}' if kind not in (None, 'log') else ''}. "
        f"Its columns are: {shown_headers(header)}. {_nearest(header, layouts, kind or 'log')} "
        "Name a layout with --layout, or describe the file in the store's folder `layouts`."
    )


def fits_any(
    headers: Sequence[Header],
    layouts: Mapping[str, Layout],
    kind: str | None = None,
    wanted: str | None = None,
) -> bool:
    """Whether one of the records is the header of a layout asked for."""
    fits = any(layout.fits(header.names) for layout in _asked(layouts, kind, wanted) for header in headers)
    return fits or _nearly_standard(headers, layouts, kind, wanted) is not None


def _nearly_standard(
    headers: Sequence[Header], layouts: Mapping[str, Layout], kind: str | None, wanted: str | None
) -> Header | None:
    """
    A header of which most columns are those of the standard log, though one that a log needs is missing.

    Such a file is read as a standard log, and what is missing is asked about.
    """
    if wanted is not None or kind not in (None, "log") or STANDARD not in layouts:
        return None
    for header in headers:
        named = {comparable(name) for name in header.names if name.strip()}
        standard = named & set(column_names("log"))
        if len(standard) >= FEWEST_STANDARD and 2 * len(standard) > len(named) and standard & ONLY_IN_A_LOG:
            return header
    return None


def shown_headers(header: Header) -> str:
    """Headers for a message: scrubbed, because a header may itself be a name, and not too many."""
    named = [name.strip() for name in header.names if name.strip()]
    # A file without a header row shows its first job here: then nothing but shapes.
    hide = shape if looks_like_data(named) else scrub
    named = [hide(name) for name in named]
    more = f" and {len(named) - HEADERS_SHOWN} more" if len(named) > HEADERS_SHOWN else ""
    return ", ".join(name[:60] for name in named[:HEADERS_SHOWN]) + more


def looks_like_data(names: Sequence[str]) -> bool:
    """Whether one of the fields of a record is no name of a column but a value."""
    return any(_DATA.search(name) for name in names)


def _asked(layouts: Mapping[str, Layout], kind: str | None, wanted: str | None) -> list[Layout]:
    """Layouts that come into question: the one asked for where it is of the kind, else all of the kind."""
    if wanted is not None and wanted not in layouts:
        raise WrongUseError(f"No layout is named {wanted!r}; there are {', '.join(layouts)}.")
    if wanted is not None and kind in (None, layouts[wanted].kind):
        return [layouts[wanted]]
    return [layout for layout in layouts.values() if kind in (None, layout.kind)]


def _lacking(header: Header, layout: Layout) -> str:
    there = {comparable(each) for each in header.names}
    lacking = [each for each in layout.required if comparable(each) not in there]
    if lacking:
        return f"it has no column {lacking[0]}"
    if layout.one_of and not any(comparable(each) in there for each in layout.one_of):
        return f"it has none of the columns {', '.join(layout.one_of)}"
    strange = [each for each in layout.absent if comparable(each) in there]
    return f"it has a column {strange[0]}" if strange else "it fits"


def _nearest(header: Header, layouts: Mapping[str, Layout], kind: str) -> str:
    standard = layouts.get("standard-log" if kind == "log" else f"standard-{kind}")
    return f"For {standard.name}, {_lacking(header, standard)}." if standard is not None else ""


def display_name(path: Path) -> str:
    """Name of a file as it is kept and shown."""
    return scrub(path.name)
