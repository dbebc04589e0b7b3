"""The five steps of every question: answer, chart, what it rests on, how it was worked out, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import altair as alt
import streamlit as st

from dashboards.data import Fleet
from dashboards.words import Told

INVENTED = "The log of an invented firm. No person, maker, model or place in it is real."
NO_LOG = "No log loaded yet. Run: mendstat load FILE"
CAUTION = (
    "Before any work on a machine: isolate it and prove it dead, water and gas off, let it cool. "
    "Gas, sealed refrigeration, "
    "microwave ovens and fixed wiring are for people licensed for them; local codes come first."
)


def title(text: str, fleet: Fleet | None = None) -> None:
    """Name of the page, small, so that the first question leads; an invented log says so first of all."""
    st.title(text, anchor=False)
    if fleet is not None and fleet.is_sample():
        rests_on(INVENTED)


def ask(text: str) -> None:
    """A question, in the user's words."""
    st.header(text, anchor=False)


def answer(told: Told) -> None:
    """One or two sentences; what cannot be told yet stands in grey and says so in words."""
    undecided = f'<span class="undecided">{escape(told.undecided)}</span>' if told.undecided else ""
    st.html(f'<p class="answer">{" ".join(filter(None, [escape(told.sure), undecided]))}</p>')


def chart(drawing: alt.LayerChart, says: str) -> None:
    """A chart, with its finding as text for those who do not see it."""
    st.altair_chart(drawing, width="stretch", theme=None, alt=says)


def rests_on(text: str) -> None:
    """Population, window, followed to, left out."""
    st.html(f'<p class="rests">{escape(text)}</p>')


def worked_out(
    sentences: Sequence[str], header: Sequence[str] = (), rows: Sequence[Sequence[str]] = ()
) -> None:
    """Folded: the definition in plain words, and the numbers behind the chart as a table."""
    with st.expander("How was this worked out"):
        for sentence in sentences:
            st.html(f'<p class="next">{escape(sentence)}</p>')
        if rows:
            st.html(table(header, rows))


def what_next(text: str) -> None:
    """What to do next."""
    st.html(f'<p class="next"><strong>What to do next</strong> — {escape(text)}</p>')


def points(*items: tuple[str, str]) -> None:
    """Terms with what is to be said of each."""
    listed = "".join(f"<dt>{escape(name)}</dt><dd>{escape(text)}</dd>" for name, text in items)
    st.html(f'<dl class="points">{listed}</dl>')


def caution() -> None:
    """Stands above everything on a page that speaks of work on machines."""
    st.html(f'<p class="caution" role="note">{escape(CAUTION)}</p>')


def parting() -> None:
    """A rule between two questions."""
    st.html('<hr class="parting">')


def empty() -> None:
    """What a page says while there is no log."""
    answer(Told(NO_LOG))
    rests_on(
        "To look around first: mendstat demo loads an invented firm's log and shows these pages with it."
    )


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A plain table; every column but the first holds numbers. It scrolls inside itself on a narrow screen."""
    head = "".join(f'<th scope="col"{_number(at)}>{escape(name)}</th>' for at, name in enumerate(header))
    body = "".join(
        "<tr>" + "".join(f"<td{_number(at)}>{escape(cell)}</td>" for at, cell in enumerate(row)) + "</tr>"
        for row in rows
    )
    return (
        '<div class="wide" tabindex="0"><table '
        f'class="figures"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>'
    )


def _number(at: int) -> str:
    return ' class="number"' if at else ""
