"""
Does cleaning or freeing a part pay, or should it be replaced: for the firm, for the customer, in hours (measure book, 11).

The three are kept apart. What the firm earns when a customer comes back and pays again counts for nothing here: a return
that is paid costs nothing and earns nothing.
"""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.estimators.compared import overlap
from pipeline.estimators.sample import COMPARISON_MIN_N
from pipeline.measures.balance import balance_rows
from pipeline.measures.cleaning_figures import Asked
from pipeline.measures.cleaning_verdicts import as_records, verdict_rows
from pipeline.measures.comparable_jobs import CLEANED, REPLACED, comparable_jobs, group_names
from pipeline.measures.groups import positions
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows
from pipeline.measures.terms import HOW_TO_SET, terms_of
from pipeline.measures.window import resolve

EXTRAS = (
    *("verdict", "break_even", "low_break_even", "high_break_even"),
    *("return_cleaned", "low_return_cleaned", "high_return_cleaned"),
    *(
        "return_replaced",
        "low_return_replaced",
        "high_return_replaced",
        "returns_cleaned",
        "returns_replaced",
    ),
    *(
        "jobs_cleaned",
        "jobs_replaced",
        "effective_cleaned",
        "effective_replaced",
        "all_cleaned",
        "all_replaced",
    ),
    *(
        "margin_cleaned",
        "margin_replaced",
        "hours_cleaned",
        "hours_replaced",
        "price_cleaned",
        "price_replaced",
    ),
    *(
        "return_cost",
        "return_hours",
        "unseen_ratio",
        "unseen_ratio_limit",
        "imbalance_before",
        "imbalance_after",
    ),
    *("pricing", "days", "from", "complete_to"),
)


def clean_or_replace(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Verdicts on cleaning against replacing, part by part, over jobs in which either was done alike.

    Raises
    ------
    CannotAnswerError
        If `hour_costs` is not known, or no part was ever cleaned by itself.
    """
    bounds, terms = resolve(con, question, needs_closed_jobs=True), terms_of(con, question)
    if terms.hour_costs is None:
        raise CannotAnswerError(
            f"Whether cleaning pays needs what an hour of your own work costs: write hour_costs = 35.00, say, {HOW_TO_SET}."
        )
    names = group_names(question)
    records = comparable_jobs(con, bounds, terms)
    keys, at = positions(records, names)
    asked = Asked(question, terms, bounds)
    rows = [
        row
        for place, key in enumerate(keys)
        for row in verdict_rows(key, records.filter(pl.Series(at == place)), asked)
    ]
    names = (*names, "whose")
    if not rows:
        raise CannotAnswerError("No part was both cleaned and replaced by itself in paid jobs of one payer.")
    return sorted_rows(frame(rows, names, EXTRAS), names)


def balance_table(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    What the jobs compared are made of: shares of cleaned and of replaced jobs, and the share that both have once weighted.

    Returns
    -------
    DataFrame
        The groups of `clean_or_replace`, `what`, `level`, `cleaned`, `replaced`, `difference` (standardised), `weighted`;
        nothing for parts that cannot be compared.
    """
    bounds, terms = resolve(con, question, needs_closed_jobs=True), terms_of(con, question)
    names = group_names(question)
    records = comparable_jobs(con, bounds, terms)
    keys, at = positions(records, names)
    rows = []
    for place, key in enumerate(keys):
        jobs = records.filter(pl.Series(at == place))
        if {CLEANED, REPLACED} <= set(jobs["side"].to_list()) and not jobs["is_safety_part"].any():
            rows += [{**key, **row} for row in _balance(jobs, terms.guarantee_days)]
    return pl.DataFrame(rows, infer_schema_length=None)


def _balance(jobs: pl.DataFrame, days: int) -> list[dict[str, Any]]:
    records, cells = as_records(jobs)
    common = overlap(records, cells, days)
    if common.effective.min() < COMPARISON_MIN_N:
        return []
    before = balance_rows(records.side, jobs, np.ones(jobs.height))
    after = balance_rows(records.side, jobs, common.weight)
    return [{**row, "weighted": then["cleaned"]} for row, then in zip(before, after, strict=True)]
