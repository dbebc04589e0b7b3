"""Failure rates of small models, drawn toward the same part over the models of its type (measure book, section 2)."""

from __future__ import annotations

from typing import Any

from pipeline.estimators.gamma_poisson import fit_gamma
from pipeline.estimators.shrinkage import shrink_rates


def shrink_toward_type(rows: list[dict[str, Any]], names: tuple[str, ...], level: float) -> None:
    """
    Add `shrunk, shrunk_low, shrunk_high` to rate rows by model, in failures per machine-year.

    A family is one part over the models of whatever else the rows are grouped by: never one part toward another.

    Parameters
    ----------
    rows : list of dict
        Result rows; `numerator` failures, `denominator` machine-years.
    names : tuple of str
        Group columns, `model` among them.
    level : float
        Probability between the limits.
    """
    if not rows:
        return
    keys = [tuple(row[name] for name in names if name not in ("make", "model")) for row in rows]
    place = {key: at for at, key in enumerate(dict.fromkeys(keys))}
    family = [place[key] for key in keys]
    events, years = [row["numerator"] for row in rows], [row["denominator"] for row in rows]
    prior = fit_gamma(family, events, years, families=len(place))
    shrunk = shrink_rates(prior, family, events, years, level)
    for at, row in enumerate(rows):
        row |= {
            "shrunk": float(shrunk.value[at]),
            "shrunk_low": float(shrunk.low[at]),
            "shrunk_high": float(shrunk.high[at]),
        }
