"""How many records of a table share what is known about them: k-anonymity, l-diversity, and records that stand alone."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl


def k_anonymity(records: pl.DataFrame, quasi_identifiers: Sequence[str]) -> int:
    """
    Size of the smallest group of records that agree in what an outsider may know (Sweeney 2002).

    Parameters
    ----------
    records : DataFrame
        One row per record; a missing value is a value like another.
    quasi_identifiers : sequence of str
        Columns that an outsider may know.

    Returns
    -------
    int
        0 for a table without records.
    """
    if records.is_empty():
        return 0
    return int(records.group_by(quasi_identifiers).len().get_column("len").min())  # type: ignore[arg-type]


def l_diversity(records: pl.DataFrame, quasi_identifiers: Sequence[str], sensitive: str) -> int:
    """
    Fewest distinct sensitive values in a group of records that agree otherwise (Machanavajjhala et al. 2007).

    Parameters
    ----------
    records, quasi_identifiers
        As for `k_anonymity`.
    sensitive : str
        Column that must not become known.

    Returns
    -------
    int
        0 for a table without records; 1 where some group gives the value away.
    """
    if records.is_empty():
        return 0
    groups = records.group_by(quasi_identifiers).agg(pl.col(sensitive).n_unique().alias("values"))
    return int(groups.get_column("values").min())  # type: ignore[arg-type]


def standing_alone(records: pl.DataFrame, known: Sequence[str]) -> int:
    """Number of records that nobody shares their known columns with: those can be singled out."""
    return records.group_by(known).len().filter(pl.col("len") == 1).height
