"""Figures about the people who work there: off until asked for, never of few jobs, never ranked."""

from __future__ import annotations

import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError

# Fewer jobs say more about which jobs somebody got than about the hand that did them; measure book, section 12.
FEWEST_JOBS = 30
GROUP = "technician"
# What places a group against the others.
_RANKING = ("band", "adjusted_p")
TOO_FEW = f"Nobody has {FEWEST_JOBS} jobs in that figure, and about people with fewer nothing is said."


def allow(*, people: bool) -> None:
    """
    Refuse figures about people unless they were asked for.

    Raises
    ------
    WrongUseError
        If they were not.
    """
    if not people:
        raise WrongUseError("Figures by technician are off until they are asked for: add --people.")


def guarded(result: pl.DataFrame) -> pl.DataFrame:
    """
    A result without the rows of people with few jobs, and without any place of a person among the others.

    Parameters
    ----------
    result : DataFrame
        Rows of a measure. `jobs` is how many jobs a row is about; where a measure has no such column, its denominator is.

    Returns
    -------
    DataFrame
        As it was where it is not by technician. Rows of jobs whose technician is not known stay.

    Raises
    ------
    CannotAnswerError
        If no row is left.
    """
    if GROUP not in result.columns:
        return result
    jobs = pl.col("jobs" if "jobs" in result.columns else "denominator")
    is_few = (pl.col(GROUP).is_not_null() & (jobs.fill_null(0) < FEWEST_JOBS)).fill_null(value=True)
    shown = result.filter(~is_few)
    if not shown.get_column(GROUP).drop_nulls().len():
        raise CannotAnswerError(TOO_FEW)
    left = result.height - shown.height
    said = f"rows about a person with fewer than {FEWEST_JOBS} jobs are left out ({left})" if left else ""
    return shown.with_columns(
        pl.concat_str(
            pl.when(pl.col("note") != "").then(pl.col("note")),
            pl.when(pl.lit(said) != "").then(pl.lit(said)),
            separator="; ",
            ignore_nulls=True,
        ).alias("note"),
        *(pl.lit(None, dtype=result.schema[name]).alias(name) for name in _RANKING if name in result.columns),
    )
