"""Safety reports: each one is listed. None is too few, averaged away, or hidden by a group."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.errors import WrongUseError
from pipeline.measures.query import ask
from pipeline.measures.question import Question

UNIT = "report"
GROUPS = ("source", "job_id", "reported_on", "unit_type", "make", "model", "danger")
EXTRAS = (
    "days_since_own_visit",
    "own_job_id",
    "is_soon_after_own_visit",
    "told_in",
    "outcome",
    "is_set_aside",
    "machine",
)
NO_REPORTS = (
    "No report of a danger: no symptom, finding or note in the window speaks of shock, smoke, fire, gas, flood or a burning "
    "smell. That is no proof that there was none."
)


def safety_reports(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    One row a report, those soon after our own visit first, then the newest.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    question : Question
        Window of the day of the report; a report without a known day is always listed.

    Returns
    -------
    DataFrame
        The contract's columns (value 1, no interval), whose report it is before them, and after them the days since
        our own last finished visit to the machine (null where not known), the job of that visit, where it was told,
        how the job ended, and whether its rows are set aside. `machine` is a number within this build.

    Raises
    ------
    WrongUseError
        If a group is asked for: reports are listed, never added up.
    """
    if question.by:
        raise WrongUseError("Safety reports are listed one by one and have no groups: leave out --by.")
    return ask(
        con, _SQL, {"from_at": question.from_at, "complete_to": question.complete_to, "level": question.level}
    )


_SQL = f"""
select source, job_id, reported_on, unit_type, make, model, danger,
    1.0::double as value, null::double as low, null::double as high, 1.0::double as numerator, 1.0::double as denominator,
    '{UNIT}' as unit, $level::double as level, 'enough' as sample,
    'every job and every row set aside, whose symptom, finding or note tells of a danger' as basis,
    'listed, not estimated: a single report has no interval' as note,
    {", ".join(name for name in EXTRAS if name != "machine")}, machine_no as machine
from facts.safety_reports
where reported_on is null
    or ((reported_on >= cast($from_at as date) or $from_at is null)
    and (reported_on < $complete_to or $complete_to is null))
order by is_soon_after_own_visit desc, reported_on desc nulls last, source, job_id, danger
"""
