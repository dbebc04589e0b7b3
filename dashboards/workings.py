"""What stands behind the figures of a question, for whoever wants to check them: all of it folded."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from pipeline.measures.working import Working

SUMMARY = "For a statistician: definition, population, window, n, interval, rows, queries"


def as_html(workings: Sequence[Working]) -> str:
    """
    One fold for a question, in it one list a figure and its queries folded once more; empty where nothing is known.

    Parameters
    ----------
    workings : sequence of Working
        Of every figure asked for the question.
    """
    if not workings:
        return ""
    figures = "".join(_figure(working) for working in workings)
    return f'<details class="working"><summary>{escape(SUMMARY)}</summary>{figures}</details>'


def _figure(working: Working) -> str:
    measure = working.measure
    facts = {
        f"Definition {working.definition_version}": measure.definition,
        "Population": "; ".join(working.population),
        "Window": working.window_text,
        "n": working.size,
        "Followed": measure.followed,
        "Asked": working.choices,
        "Interval": f"{100 * working.asked.level:.0f} %. {measure.source}",
        "Rows received": working.rows_text,
        "Left out, and notes": "; ".join(working.notes),
        "Fingerprint": f"{working.fingerprint}: the same question to the same log gives it again",
    }
    listed = "".join(
        f"<dt>{escape(name)}</dt><dd>{escape(said)}</dd>" for name, said in facts.items() if said
    )
    queries = "".join(f"<pre>{escape(asked.text())}</pre>" for asked in working.queries)
    sql = f"<details><summary>The queries, with their values</summary>{queries}</details>" if queries else ""
    by = f" by {', '.join(working.asked.by)}" if working.asked.by else ""
    title = f"<h4>{escape(measure.label)} ({escape(measure.name + by)})</h4><p>{escape(measure.meaning)}</p>"
    return f"{title}<dl>{listed}</dl>{sql}"
