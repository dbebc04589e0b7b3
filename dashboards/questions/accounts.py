"""Did every row come in? Received = used + repeated + replaced + set aside, file by file."""

from __future__ import annotations

from html import escape
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told

FATES = ("used", "repeated", "replaced", "set_aside")
FATE_WORDS = {"used": "used", "repeated": "repeated", "replaced": "replaced", "set_aside": "set aside"}
RECORDS_SHOWN = 8
KINDS = {
    "log": "log",
    "machines": "machine list",
    "parts": "parts list",
    "stock": "stock list",
    "notices": "notices",
}


def render(fleet: Fleet) -> None:
    """Draw the question."""
    files = fleet.files()
    blocks.ask("Did every row of the log come in?")
    blocks.answer(tell(files))
    for file in files:
        st.html(file_block(file))
    for file in files:
        _reasons(file)
    blocks.rests_on(
        "Used: counts in the figures. Repeated: the very same row was there already. Replaced: a "
        "later file brought the same visit "
        "again. Set aside: something in it cannot be read, so it counts nowhere until it is mended."
    )
    blocks.worked_out(_how())
    blocks.what_next(_what_next(files))


def tell(files: list[dict[str, Any]]) -> Told:
    """All rows of all files, and how many count nowhere."""
    received, *fates = (sum(file[name] for file in files) for name in ("received", *FATES))
    aside = fates[-1]
    rows = f"{words.counted(received, 'row', 'rows')} in {words.counted(len(files), 'file', 'files')}"
    if received != sum(fates):
        return Told(
            f"No: {rows} were received, but only {words.whole(sum(fates))} are accounted for. Do "
            "not trust the figures until this is found."
        )
    if aside:
        return Told(
            f"Every row is accounted for: {rows}.",
            f"{words.counted(aside, 'is', 'are')} set aside and "
            f"{'counts' if aside == 1 else 'count'} nowhere yet.",
        )
    return Told(f"Yes: {rows}, every one accounted for and none set aside.")


def file_block(file: dict[str, Any]) -> str:
    """One file: its name, and the sum that must hold."""
    parts = [
        f"{words.whole(file[name])} {FATE_WORDS[name]}"
        for name in FATES
        if file[name] or name in ("used", "set_aside")
    ]
    kind = KINDS.get(file["kind"], file["kind"])
    return (
        f'<div class="file"><div class="name">{escape(str(file["file"]))} <span class="soft">· '
        f"{escape(kind)}</span></div>"
        f'<p class="sum">{words.whole(file["received"])} received = {" + ".join(parts)}</p>'
        f"{_left_out(file)}</div>"
    )


def _left_out(file: dict[str, Any]) -> str:
    positions = [str(position) for position in file.get("columns_left_out") or []]
    if not positions:
        return ""
    what = (
        f"Column {positions[0]} was" if len(positions) == 1 else f"Columns {words.listed(positions, 20)} were"
    )
    return f'<p class="rests">{what} not kept: no figure is made from it, and it might name somebody.</p>'


def records_said(records: list[int], count: int) -> str:
    """Record numbers as a person looks them up: the first few, and how many more."""
    shown = ", ".join(str(record) for record in records[:RECORDS_SHOWN])
    more = count - min(len(records), RECORDS_SHOWN)
    return f"{shown} and {words.whole(more)} more" if more > 0 else shown


def _reasons(file: dict[str, Any]) -> None:
    reasons = file.get("reasons") or []
    if not reasons:
        return
    lines = [
        [
            f"{reason['column'] or 'whole row'}: {reason['reason']}"
            + (f" (looks like {reason['shape']})" if reason.get("shape") else ""),
            words.whole(reason["count"]),
            records_said(reason["records"], reason["count"]),
        ]
        for reason in reasons
    ]
    with st.expander(f"Set aside in {file['file']}, and why"):
        st.html(blocks.table(["column and reason", "rows", "records"], lines))
        blocks.rests_on(
            "Records are counted from 1 below the line of headers. Of a value that may be "
            "personal only the shape is shown (9 a digit, x a letter)."
        )


def _how() -> list[str]:
    return [
        (
            "Each file is read row by row and every row is kept, as text, with names, addresses and "
            "numbers of people replaced first. For each row "
            "one of the four is then true, and for each file the sum must come out."
        ),
        "The same figures as text for another program: mendstat log-check.",
    ]


def _what_next(files: list[dict[str, Any]]) -> str:
    if any(file["set_aside"] for file in files):
        return (
            "Put the rows right in your own program, export again and load the new file: rows that "
            "are here already are not counted twice."
        )
    return (
        "Load each new export as it is, the whole of it if you like: rows that are here already are "
        "not counted twice."
    )
