"""Did every row come in? Received = used + repeated + replaced + set aside, file by file."""

from __future__ import annotations

from html import escape
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.words import Told
from pipeline.log_check.text import DAMAGE_WORDS, NO_WORK

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
        "again. Set aside: something in it cannot be read, so it counts nowhere until it is mended. "
        f"{fleet.on_disk()}"
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
        f"{_beside(file)}{_left_out(file)}</div>"
    )


def _beside(file: dict[str, Any]) -> str:
    """What else is to be said of the rows of a file."""
    lag = file.get("entry_lag")
    said = []
    if file.get("corrected"):
        said.append(f"{words.counted(file['corrected'], 'cell was', 'cells were')} mended by hand.")
    said += [
        f"A mended cell ({gone['column']}, {gone['row']}) has no row any more."
        for gone in file.get("corrections_gone") or ()
    ]
    if file.get("suspected"):
        said.append(
            f"{words.counted(file['suspected'], 'visit says', 'visits say')} in all but the job number what a visit of "
            "another job says. They count as they stand: look whether a job was entered twice (mendstat log-check names "
            "the records)."
        )
    if file.get("missing_visits"):
        said.append(
            f"{words.counted(file['missing_visits'], 'visit', 'visits')} of it are kept although a newer file that "
            "covers their day leaves them out."
        )
    said += [
        f"Part number damaged in {words.counted(damage['count'], 'row', 'rows')} ({', '.join(damage['written'])}): "
        f"{DAMAGE_WORDS[damage['rule']]}."
        for damage in file.get("damaged_numbers") or ()
    ]
    said += [
        f"{words.capital(each['column'])}: {words.counted(each['count'], 'row says', 'rows say')} “{each['word']}”, read as "
        "nothing charged."
        for each in file.get("nothing_charged") or ()
    ]
    if file.get("circular"):
        said.append(
            f"{words.listed(file['circular'], 8)} replace each other in a circle in the parts list: each counts as a part of "
            "its own until the list says which one is ordered now."
        )
    if lag and lag["late"]:
        said.append(
            f"{words.whole(lag['late'])} of {words.counted(lag['jobs'], 'new job', 'new jobs')} had been reported "
            f"before the last report of an earlier load, by {words.figure(lag['days_mean'])} days on average: they were "
            "written down late."
        )
    return "".join(f'<p class="rests">{escape(sentence)}</p>' for sentence in said)


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
    with st.expander(f"Set aside in {file['file']}, and why"):
        blocks.points(*(_said(reason) for reason in reasons))
        blocks.rests_on(
            "Records are counted from 1 below the line of headers. Of a value that may be "
            "personal only the shape is shown (9 a digit, a a letter, A a capital)."
        )


def _said(reason: dict[str, Any]) -> tuple[str, str]:
    looks = f" (looks like {reason['shape']})" if reason.get("shape") else ""
    records = records_said(reason["records"], reason["count"])
    return (
        f"{_where(reason)}: {reason['reason']}{looks}",
        f"{words.counted(reason['count'], 'row', 'rows')}: record {records}.",
    )


def _where(reason: dict[str, Any]) -> str:
    return "whole row" if reason["column"] in (None, "row") else str(reason["column"])


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
    every = [reason for file in files for reason in file.get("reasons") or ()]
    reasons = [reason for reason in every if reason["reason"] not in NO_WORK]
    broken = any(_where(reason) == "whole row" for reason in reasons)
    if any(_where(reason) != "whole row" for reason in reasons):
        return (
            "Run mendstat mend: it writes what is to be mended to a list, without anybody's name. Fill in its column "
            "value and give the list back: mendstat mend to-mend.csv."
            + (
                " Where the whole row is out of joint, put the file itself right and load it again."
                if broken
                else ""
            )
        )
    if broken:
        return "Put the file itself right where a whole row is out of joint, and load it again: no row is counted twice."
    return (
        "Load each new export as it is, the whole of it if you like: rows that are here already are "
        "not counted twice."
    )
