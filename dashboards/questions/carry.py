"""What should be on the van? A limit of money, the curve of money against jobs, the list."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, downloads, words
from dashboards.carrying import Carry
from dashboards.charts.money_and_jobs import money_and_jobs
from dashboards.data import Fleet
from dashboards.words import Told

QUESTION = "What should be on the van?"
MONEY_KEY = "money_in_a_van"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    del kind
    return fleet.carry(None).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question; it is one van for all kinds of machine."""
    del kind, choose
    usual = fleet.carry(None)
    money = float(st.session_state.get(MONEY_KEY, usual.money))
    found = usual if money == usual.money else fleet.carry(money)
    blocks.ask(QUESTION)
    told = tell(found)
    blocks.answer(told)
    st.slider(
        f"Money for the stock of one van{f', {found.currency}' if found.currency else ''}",
        min_value=0.0,
        max_value=usual.most,
        value=usual.money,
        step=usual.step,
        format="%.0f",
        key=MONEY_KEY,
    )
    now = None if found.now_share is None or found.now_cost is None else (found.now_cost, found.now_share)
    blocks.chart(said(found), money_and_jobs, found.curve, (found.cost, found.share), now, found.currency)
    blocks.rests_on(_rests(found))
    _list(found)
    blocks.worked_out(_how(found), *_numbers(found))
    blocks.what_next(_what_next(found))


def tell(found: Carry) -> Told:
    """What the list is and what it would have done."""
    lines, pieces = len(found.listed), sum(row["quantity"] for row in found.listed)
    if not lines:
        return Told("For this money nothing that is worth carrying can be had.")
    is_ = (
        f"{words.counted(lines, 'part', 'parts')}, {words.counted(pieces, 'piece', 'pieces')}, "
        f"for {words.whole(found.cost)}{_unit(found)} a van."
    )
    if found.promise:
        return Told(f"{is_} {found.promise}")
    return Told(is_, f"What it would have done cannot be told yet: {found.promise_refusal}")


def said(found: Carry) -> str:
    """The finding of the chart in words."""
    now = (
        f"; what the vans carry now costs {words.whole(found.now_cost or 0)} and finishes {words.percent(found.now_share)}"
        if found.now_share is not None
        else ""
    )
    return (
        f"Of the jobs that only the right part decides, this list finishes {words.percent(found.share)} at the first visit "
        f"for {words.whole(found.cost)}{_unit(found)} a van{now}."
    )


def _rests(found: Carry) -> str:
    return (
        f"Upward: of the {words.whole(found.jobs_for_parts)} jobs that needed a part and that nothing else kept from ending at the first "
        "visit, the share that would end then; the answer above counts every job that needed a fix. "
        f"{words.whole(found.jobs)} attended fault jobs, {words.window(found.window)}; {found.jobs_between_restocks} jobs between "
        f"two restocks. {found.following}"
    )


def _list(found: Carry) -> None:
    if not found.listed:
        return
    st.subheader("The list", anchor=False)
    has_vans = "put_in" in found.listed[0]
    header = ["part", "on each van", *(["put in", "take out"] if has_vans else []), "trips saved a year"]
    rows = [
        [
            _label(row),
            words.whole(row["quantity"]),
            *([_or_dash(row["put_in"]), _or_dash(row["take_out"])] if has_vans else []),
            words.figure(row["second_trips_saved_per_year"]),
        ]
        for row in found.listed
    ]
    st.html(blocks.table(header, rows))
    many = f"over all {words.counted(found.vans, 'van', 'vans')}" if found.vans > 1 else "of the van"
    pooled = found.pooled
    blocks.under(
        f"Put in, take out: pieces {many}. Trips saved: {many}, against the same list without that part."
        + (
            f" {words.capital(pooled['part_name'])} ({words.counted(pooled['needed_in_jobs'], 'job', 'jobs')} needed one): {pooled['why']}."
            if pooled
            else ""
        )
    )
    _van_by_van(found)
    downloads.files(
        "load-list",
        ("Load list to print", found.sheets.encode(), "load-list.html", "text/html"),
        ("The list as a workbook", found.book, "van-stock.xlsx", downloads.WORKBOOK),
    )


def _van_by_van(found: Carry) -> None:
    if not found.moves.height:
        return
    with st.expander("Van by van: what to put in and take out"):
        for place in found.moves["place"].unique(maintain_order=True).to_list():
            moves = found.moves.filter(place=place).to_dicts()
            rows = [
                [
                    _label(row),
                    words.whole(row["there"]),
                    _or_dash(row["put_in"]),
                    _or_dash(row["take_out"]),
                ]
                for row in moves
            ]
            st.html(blocks.table([place, "there now", "put in", "take out"], rows))


def _label(row: dict[str, Any]) -> str:
    """Whoever loads a van needs the number, whatever the part is called."""
    return words.part_label({**row, "shares_name": True})


def _or_dash(count: int) -> str:
    return words.whole(count) if count else "–"


def _how(found: Carry) -> list[str]:
    return [
        (
            "Every attended fault job of the log says which pieces it needed: fitted, ordered, or needed and not there. What was taken "
            "out again, the customer's own and used parts do not count; old numbers of a part count as its new one."
        ),
        (
            "A job ends at the first visit only if all its pieces are there, after what the jobs before it took since the last restock. "
            "Pieces are added where they finish most jobs for their money, then exchanged as long as that finishes more."
        ),
        (
            "What it would have done: chosen only on what was known before, then played job by job on the months after, several "
            "times. First visits that failed for another reason stay failed."
        ),
        found.warning,
        "The same list with limits of room or lines, as a table or a file: mendstat van-stock.",
    ]


def _numbers(found: Carry) -> tuple[list[str], list[list[str]]]:
    header = ["part", "pieces", "cost", "needed in jobs", "not there", "trips saved a year"]
    return header, [[_label(row), *_cells(row)] for row in found.listed]


def _cells(row: dict[str, Any]) -> list[str]:
    return [
        words.whole(row["quantity"]),
        f"{row['cost']:,.2f}",
        words.whole(row["needed_in_jobs"]),
        words.whole(row["not_there"]),
        words.figure(row["second_trips_saved_per_year"]),
    ]


def _what_next(found: Carry) -> str:
    if not found.listed:
        return "Move the limit up until the list holds what you would carry."
    first = _label(found.listed[0])
    if found.moves.height:
        return f"Load the vans by the list, the {first} first, and load the stock list again when they are."
    return f"See that every van carries the {first}. With a stock list (mendstat load --stock) the page says what to put in and take out."


def _unit(found: Carry) -> str:
    return f" {found.currency}" if found.currency else ""
