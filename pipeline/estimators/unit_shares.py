"""A plain share of jobs whose interval knows that jobs on one machine are alike."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pipeline.estimators.arrays import ROUNDING, Bools, Floats, Ints, floats_of, ints_of, quotient
from pipeline.estimators.competing import by_unit_size
from pipeline.estimators.jackknife import UnitVariance, effective_units, factor_of_few
from pipeline.estimators.proportions import wilson
from pipeline.estimators.rates import UnitSums


class UnitShare(NamedTuple):
    """
    A share, one entry a group, arrays (groups,).

    Attributes
    ----------
    value, low, high : float
    n_eff : float
        Jobs on machines of their own that would tell as much.
    units : int
        Machines behind it.
    is_by_unit : bool
        Whether a machine has more than one job.
    """

    value: Floats
    low: Floats
    high: Floats
    n_eff: Floats
    units: Ints
    is_by_unit: Bools


def unit_share(sums: UnitSums, level: float = 0.95) -> UnitShare:
    """
    Share x / n with Wilson limits on the effective sample size n_eff = p (1 - p) / Var.

    Var is the by-unit one, m/(m-1) sum((x - p n)**2) / (sum n)**2 over the units, m = (sum n)**2 / sum n**2 the effective number
    of them, widened by (t/z)**2 for few; n_eff is kept between the units and the jobs. It is what `incidence_of_records` gives when every record ends on day 0, from
    sums that a database can deliver. Where no unit has two jobs it is Wilson on the counts.

    Parameters
    ----------
    sums : UnitSums
        Of the units of each group: `d` their hits, `t` their jobs (both whole), and the sums of squares and products; `units`
        those with a job.
    level : float
        Confidence level.

    Returns
    -------
    UnitShare
        Without jobs: value 0, limits 0 and 1, n_eff 0. Never NaN.

    Raises
    ------
    ValueError
        If a count is negative or not whole, there are more hits than jobs, or the level is out of range.

    References
    ----------
    Cochran, W. G. (1977), Sampling Techniques, 3rd ed., section 9A (ratio over clusters). Wilson, E. B. (1927), JASA 22,
    209-212. n_eff: Dean, N. & Pagano, M. (2015), Survey Methodology 41, 29-49 (from memory).
    """
    hits, jobs = ints_of("d", sums.d, at_least=0), ints_of("t", sums.t, at_least=0)
    units = ints_of("units", sums.units, at_least=0)
    dd, dt, tt = (floats_of(name, getattr(sums, name), at_least=0.0) for name in ("dd", "dt", "tt"))
    if (hits > jobs).any():
        raise ValueError(
            f"d must be at most t, but was {hits[hits > jobs].flat[0]} of {jobs[hits > jobs].flat[0]}"
        )
    value = quotient(hits, jobs)
    squares = dd - 2.0 * value * dt + value**2 * tt
    # Units that all behave exactly alike leave nothing but rounding.
    squares = np.where(squares < ROUNDING * np.maximum(tt, 1.0), 0.0, squares)
    effective = effective_units(jobs, tt)
    variance = squares * factor_of_few(units, effective) * quotient(1.0, jobs * 1.0 * jobs)
    by_unit = UnitVariance(variance, units, units, jobs > units, effective)
    n_eff = by_unit_size(
        value, value * (1.0 - value) * quotient(1.0, jobs), jobs, jobs, jobs, by_unit=by_unit
    )
    low, high = wilson(n_eff * value, n_eff, level)
    return UnitShare(value, low, high, n_eff, units, by_unit.repeats)
