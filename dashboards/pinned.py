"""What stands above everything on every page: safety reports of the last twelve months, notices that concern machines."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from dashboards import words
from dashboards.data import Pinned

REPORTS_IN_SIGHT = 3
NOTICES_IN_SIGHT = 2
MOST_REPORTS = 60  # on a page: a network has thousands a year, and nobody opens a page to read them all
MONTHS = "in the last twelve months of the log"
FIRST = (
    "Make safe first; then read the job before it. Every report there was: mendstat measure safety-reports."
)
NO_LIST = "No list of notices is loaded, so nothing can be said about recalls. Load yours: mendstat load --notices FILE"
NO_LIST_MACHINE = "No list of notices is loaded, so nothing can be said about recalls: look at the authority's list before you quote."


def block(found: Pinned, *, for_trainer: bool = False, is_short: bool = False) -> str:
    """
    The block as HTML; empty where there is nothing to pin.

    Parameters
    ----------
    found : Pinned
        Reports in the order they are shown, notices in words.
    for_trainer : bool
        Whether cut-outs replaced without a cause are said too.
    is_short : bool
        Whether reports and notices are one line each, to open: for whoever has to read on with one hand free.
    """
    told = [_reports(found), _notices(found)]
    parts = [part for parts in told for part in (_folded(parts) if is_short else parts)]
    if for_trainer and found.cut_outs:
        parts.append(_line(f"{words.spelled(found.cut_outs, 'job', 'jobs').capitalize()} {_CUT_OUTS}"))
    if not parts:
        return ""
    return f'<section class="pinned" aria-label="Safety reports and notices">{"".join(parts)}</section>'


_CUT_OUTS = "replaced a thermal cut-out without a cause found: it will go again, or not go when it must."


def report_line(row: dict[str, Any]) -> str:
    """`26 Feb 2026 · dryer · burning smell · 7 days after our own visit`."""
    kind = row["unit_type"] if row["unit_type"] not in (None, "kind unknown") else "machine"
    when = words.day(row["reported_on"]) if row["reported_on"] else "day not known"
    told = (when, kind, row["danger"].replace("; ", " and "), row["after_visit"])
    return " · ".join(filter(None, told))


def _reports(found: Pinned) -> list[str]:
    if not found.reports:
        return []
    soon = ""
    if found.soon:
        which = "" if len(found.reports) == 1 else f"{words.spelled(found.soon)} of them "
        soon = f", {which}soon after our own visit"
    many = words.spelled(len(found.reports), "safety report", "safety reports").capitalize()
    lines = [escape(report_line(row)) for row in found.reports[:MOST_REPORTS]]
    more = len(found.reports) - len(lines)
    left = [_line(f"{words.whole(more)} more are not listed here.")] if more else []
    return [_lead(f"{many} {MONTHS}{soon}."), *_listed(lines, REPORTS_IN_SIGHT), *left, _line(FIRST)]


def _notices(found: Pinned) -> list[str]:
    parts = []
    if found.notices:
        one, many = "notice concerns machines in the log", "notices concern machines in the log"
        lead = words.spelled(len(found.notices), one, many).capitalize()
        parts = [_lead(f"{lead}."), *_listed([_notice(row) for row in found.notices], NOTICES_IN_SIGHT)]
    if found.unread_notices:
        lead = words.spelled(found.unread_notices, "notice", "notices").capitalize()
        parts.append(_line(f"{lead} of the list could not be read: see the page “The log”."))
    return parts


def _notice(row: dict[str, Any]) -> str:
    """What it says in sight; whom it concerns and what to look for on the plate folded."""
    number = f"Notice {row['reference']}" if row["reference"] else "Notice"
    dated = f", {words.day(row['dated_on'])}" if row["dated_on"] else ""
    last = f" Last reported {words.day(row['last_reported_on'])}." if row["last_reported_on"] else ""
    folded = f"{row['plate']}{last} {number}{dated}."
    return (
        f"{escape(row['said'])}<details><summary>{escape(row['concerned'])}: check the plate</summary>"
        f"<span>{escape(folded)}</span></details>"
    )


def _folded(parts: list[str]) -> list[str]:
    """The first line in sight, the rest behind it."""
    if len(parts) < 2:
        return parts
    return [f"<details><summary>{parts[0]}</summary>{''.join(parts[1:])}</details>"]


def _listed(lines: Sequence[str], in_sight: int) -> list[str]:
    """The first lines, as HTML, in sight; the others folded."""
    shown, folded = lines[:in_sight], lines[in_sight:]
    parts = [_list(shown)]
    if folded:
        summary = f"the other {words.spelled(len(folded))}" if len(folded) > 1 else "the other one"
        parts.append(f"<details><summary>{summary.capitalize()}</summary>{_list(folded)}</details>")
    return parts


def _list(lines: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{line}</li>' for line in lines)}</ul>"


def _lead(text: str) -> str:
    return f'<p class="lead">{escape(text)}</p>'


def _line(text: str) -> str:
    return f"<p>{escape(text)}</p>"
