"""The five steps of every question: answer, chart, what it rests on, how it was worked out, what to do next."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from html import escape
from types import FunctionType
from typing import Any

import altair as alt
import streamlit as st
from altair.utils.schemapi import debug_mode

from dashboards import data, downloads, listed, pinned, workings
from dashboards.data import Fleet
from dashboards.words import Told
from pipeline.vocabulary.cautions import GENERAL

INVENTED = "The log of an invented firm. No person, maker, model or place in it is real."
QUOTED = re.compile(r"`([^`\n]+)`")
NO_LOG = "No log loaded yet. Run: mendstat load FILE"


def title(
    text: str, fleet: Fleet | None = None, *, for_trainer: bool = False, is_short: bool = False
) -> None:
    """
    Name of the page, small, so that the first question leads; an invented log says so.

    Above it, on every page: reports of a danger and notices; short, each is one line to open.
    """
    first = (
        pinned.block(fleet.pinned(), for_trainer=for_trainer, is_short=is_short) if fleet is not None else ""
    )
    if first:
        st.html(first)
    told = fleet.behind() if fleet is not None else ""
    if told:
        note_line("Not the newest.", told)
    st.title(text, anchor=False)
    if fleet is not None and fleet.is_sample():
        rests_on(INVENTED)


def ask(text: str) -> None:
    """A question, in the user's words."""
    st.header(text, anchor=False)


def answer(told: Told) -> None:
    """One or two sentences; what cannot be told yet stands in grey and says so in words."""
    undecided = f'<span class="undecided">{_said(told.undecided)}</span>' if told.undecided else ""
    st.html(f'<p class="answer">{" ".join(filter(None, [_said(told.sure), undecided]))}</p>')


def chart(says: str, draw: Callable[..., alt.LayerChart], *what: Any) -> None:
    """
    Draw a chart, with its finding as text for those who do not see it.

    Parameters
    ----------
    says : str
        The finding in words.
    draw : callable
        A function of `dashboards.charts`.
    what : frame, scale and whatever else it draws
    """
    drawn = _drawn(draw, *what)
    st.vega_lite_chart(spec=drawn, width="stretch", theme=None, alt=says)
    downloads.offer(says, drawn, what[0])


@st.cache_data(max_entries=300, show_spinner=False, hash_funcs={FunctionType: lambda draw: draw.__qualname__})
def _drawn(draw: Callable[..., alt.LayerChart], *what: Any) -> dict[str, Any]:
    """The drawing as it is sent to the browser; the same figures are drawn once."""
    # Not checked against the schema, which would take ten times as long as the rest: the tests do that.
    with debug_mode(arg=False):
        drawn: dict[str, Any] = draw(*what).to_dict(validate=False)
    return drawn


def rests_on(text: str) -> None:
    """Population, window, followed to, left out."""
    st.html(f'<p class="rests">{_said(text)}</p>')


def worked_out(
    sentences: Sequence[str], header: Sequence[str] = (), rows: Sequence[Sequence[str]] = ()
) -> None:
    """
    Folded: the definition in plain words, the numbers behind the chart as a table, and for a statistician all that
    stands behind them.
    """
    heard = data.heard_so_far()
    for answer in heard:
        if answer.not_listed:
            rests_on(answer.not_listed)
    with st.expander("How was this worked out"):
        for sentence in sentences:
            st.html(f'<p class="next">{_said(sentence)}</p>')
        if rows:
            shown = rows[: listed.DRAWN]
            st.html(table(header, shown))
            cut_short(len(shown), len(rows))
        told = workings.as_html([answer.working for answer in heard if answer.working])
        if told:
            st.html(told)


def cut_short(shown: int, rows: int) -> None:
    """Say below a table that it is not the whole one."""
    if shown < rows:
        rests_on(f"The first {shown} of {rows:,} rows.")


def what_next(text: str) -> None:
    """What to do next."""
    st.html(f'<p class="next"><strong>What to do next</strong> — {_said(text)}</p>')


def points(*items: tuple[str, str]) -> None:
    """Terms with what is to be said of each."""
    listed = "".join(f"<dt>{escape(name)}</dt><dd>{_said(text)}</dd>" for name, text in items)
    st.html(f'<dl class="points">{listed}</dl>')


def caution() -> None:
    """Stands above everything on a page that speaks of work on machines."""
    st.html(f'<p class="caution" role="note">{escape(GENERAL)}</p>')


def stop(text: str) -> None:
    """In place of an answer, where a danger was reported."""
    st.html(f'<p class="caution stop" role="alert">{escape(text)}</p>')


def fixes(items: Sequence[tuple[str, str]], extra: str = "") -> None:
    """A list, numbered unless it is plain: what, and what is known of it."""
    lines = "".join(
        f"<li><span>{escape(name)}</span><small>{escape(text)}</small></li>" for name, text in items
    )
    st.html(f'<ol class="{f"fixes {extra}".strip()}">{lines}</ol>')


def cautions(sentences: Sequence[str], extra: str = "") -> None:
    """The cautions of one kind of machine, above its answer."""
    lines = "".join(f"<span>{escape(sentence)}</span>" for sentence in sentences)
    st.html(f'<p class="{f"caution {extra}".strip()}" role="note">{lines}</p>')


def note_line(name: str, text: str) -> None:
    """A short line with its name in bold."""
    st.html(f'<p class="next"><strong>{escape(name)}</strong> {_said(text)}</p>')


def link(text: str, path: str) -> None:
    """To another page."""
    st.html(f'<p class="rests"><a href="/{escape(path)}" target="_self">{escape(text)}</a></p>')


def parting() -> None:
    """A rule between two questions."""
    st.html('<hr class="parting">')


def empty() -> None:
    """What a page says while there is no log."""
    answer(Told(NO_LOG))
    rests_on(
        "To look around first: mendstat demo loads an invented firm's log and shows these pages with it."
    )
    link("Or give a file on the page “A new file”", "a-new-file")


def under(text: str) -> None:
    """A line below a heading that says which machines are meant."""
    st.html(f'<p class="rests">{_said(text)}</p>')


def _said(text: str) -> str:
    """A sentence as markup; what a terminal shows between backticks stands in quotation marks."""
    return QUOTED.sub(r"“\1”", escape(text))


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """
    A plain table; every column but the first holds numbers.

    On a phone each row of a table that is too wide for it stands as lines below its name, each cell with the name of its
    column. The roles say to a screen reader that it is a table all the same.
    """
    head = "".join(
        f'<th scope="col" role="columnheader"{_number(at)}>{escape(name)}</th>'
        for at, name in enumerate(header)
    )
    body = "".join(f'<tr role="row">{_row_cells(header, row)}</tr>' for row in rows)
    return (
        f'<div class="wide" tabindex="0"><table role="table" class="{" ".join(["figures", *_on_a_phone(header, rows)])}">'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table></div>'
    )


def _row_cells(header: Sequence[str], row: Sequence[str]) -> str:
    return "".join(
        f'<td role="cell" data-column="{escape(name)}"{_number(at)}>{escape(cell) if at else _unbroken(cell)}</td>'
        for at, (name, cell) in enumerate(zip(header, row, strict=False))
    )


PHONE, FIRST, GAP, LETTER = (
    320,
    112,
    8,
    7.5,
)  # pixels: within a fold, least of the first column, beside a column, a letter
HALF = 20  # letters that have room in half a phone, with the name of their column
NUMBERED = re.compile(r"\S{1,6}-\S{0,6}\d\S{0,6}")


def _on_a_phone(header: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """How a table stands on a phone: as it is where all columns have room, else stacked, two cells a line unless they are long."""
    least = [max(map(len, name.split()), default=0) for name in header]
    for row in rows:
        for at, cell in enumerate(row[: len(least)]):
            # Headers and the first column may break between words.
            least[at] = max(least[at], len(cell) if at else max(map(len, cell.split()), default=0))
    first, *others = [letters * LETTER + GAP for letters in least] or [0]
    if max(FIRST, first) + sum(others) <= PHONE:
        return []
    is_long = any(
        len(name) + len(cell) > HALF for row in rows for name, cell in zip(header[1:], row[1:], strict=False)
    )
    return ["stacks", "long"] if is_long else ["stacks"]


def _unbroken(text: str) -> str:
    """The number of a part stays on one line."""
    return NUMBERED.sub(lambda found: f'<span class="unbroken">{found[0]}</span>', escape(text))


def _number(at: int) -> str:
    return ' class="number"' if at else ""
