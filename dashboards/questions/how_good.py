"""How good are these answers? Learnt from the log's earlier jobs, tried on its later ones; worked out when it is asked for."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet

FOLD = "How good are these answers?"
KEY = "machine_back_test"


def render(fleet: Fleet) -> None:
    """Folded, and not worked out before somebody asks: it takes seconds."""
    with st.expander(FOLD):
        if not st.toggle("Try them on the log's own later jobs", key=KEY):
            return
        tried = fleet.back_test()
        if tried.test is None:
            blocks.rests_on(tried.refusal)
            return
        ours, plain, overall = tried.test.rows
        blocks.rests_on(
            f"Learnt from jobs finished before {words.day(tried.test.split)}, tried on the {words.whole(ours['jobs'])} fixes "
            "after it that held. Every symptom and kind of machine; a job with two symptoms counts for both."
        )
        st.html(
            f'<p class="next">The part or cause named first was the one in {_share(ours, "part")}; what was done stood among '
            f"the first three in {_share(ours, 'fix')}. Plain counts of symptom and kind: {_share(plain, 'part')} and "
            f"{_share(plain, 'fix')}. The commonest fixes of the kind, whatever the symptom: {_share(overall, 'part')}.</p>"
        )
        blocks.rests_on(
            "Mean log of the chance given to what was done (nearer to 0 is better): "
            + "; ".join(f"{row['method']} {row['log_score']:.2f}" for row in tried.test.rows)
            + "."
        )
        st.html(
            blocks.table(
                ["chance given", "guesses", "mean", "happened", "that is"],
                [_tenth(row) for row in tried.test.calibration],
            )
        )


def _share(row: dict[str, Any], name: str) -> str:
    counts = {"numerator": row[f"{name}_hits"], "denominator": row["jobs"]}
    return f"{words.counts_of(counts)} ({words.percent(row[f'{name}_share'])})"


def _tenth(row: dict[str, Any]) -> list[str]:
    return [
        f"{words.whole(row['chance_from'] * 100)} to {words.percent(row['chance_to'])}",
        words.whole(row["guesses"]),
        words.percent(row["mean_chance"]),
        words.whole(row["happened"]),
        words.percent(row["share"]),
    ]
