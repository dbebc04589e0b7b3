"""What lies ahead: the season that is coming, and how many machines of which age there will be."""

from __future__ import annotations

from typing import NamedTuple

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.poisson_shape import Shape
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds
from pipeline.planning import ageing
from pipeline.planning.season import DAYS_A_YEAR, Season, season

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
# A van's list is for the next quarter of a year.
DAYS_AHEAD = 91
# A machine list speaks for the log only if it holds this many machines, and this share of the jobs that needed a part.
LEAST_MACHINES, LEAST_LISTED = 30, 0.5

MACHINES = """
select unit_type, date_diff('day', cast($from_on as date), age_origin_on) as born,
    date_diff('day', cast($from_on as date), enter_on) as enter,
    date_diff('day', cast($from_on as date), exit_on) as leave
from facts.exposure
where basis = 'machine list' and age_origin_on is not null and unit_type is not null
order by machine_no
"""
FITS = "select part_key, unit_type from facts.part_fits order by part_key, unit_type"


class Fleet(NamedTuple):
    """
    The machines of a machine list whose age is known.

    Attributes
    ----------
    machines : ageing.Machines
    fits : bool, (parts, kinds)
        Whether a part is fitted in a kind of machine.
    """

    machines: ageing.Machines
    fits: Bools


class Needed(NamedTuple):
    """
    Jobs that needed parts, arrays (needs,).

    Attributes
    ----------
    part : int
    day : int
        From the first day of the log.
    age : float
        Of the machine, in days; not a number where it is not on the machine list.
    """

    part: Ints
    day: Ints
    age: Floats


class Outlook(NamedTuple):
    """
    The years ahead, by part.

    Attributes
    ----------
    season : Season
    ageing : Shape or None
        None where no machine list speaks for the log.
    growth : float, (years, parts)
        Needs in each year ahead over those in a year of the log; 1 without a list.
    per_machine : float, (parts,)
        The same of the first year ahead for each machine there: how much the age alone does.
    machines : float, (years, parts)
        Machines of the list that the part fits and that will be there; not a number without a list.
    """

    season: Season
    ageing: Shape | None
    growth: Floats
    per_machine: Floats
    machines: Floats

    def coming(self) -> Floats:
        """Need of each part in the next quarter of a year over that of the whole log, machine by machine, (parts,)."""
        return np.asarray(self.season.ahead(DAYS_AHEAD) * self.per_machine, dtype=np.float64)


def fleet_of(con: duckdb.DuckDBPyConnection, bounds: Bounds, keys: list[str]) -> Fleet | None:
    """The machine list with ages, for parts with these keys; None without one."""
    found = ask(con, MACHINES, {"from_on": bounds.from_on})
    if found.height < LEAST_MACHINES:
        return None
    kinds = sorted(found["unit_type"].unique().to_list())
    place = {kind: at for at, kind in enumerate(kinds)}
    fits = np.zeros((len(keys), len(kinds)), dtype=np.bool_)
    rows = ask(con, FITS, {}).filter(pl.col("part_key").is_in(keys) & pl.col("unit_type").is_in(kinds))
    part = {key: at for at, key in enumerate(keys)}
    for key, kind in rows.rows():
        fits[part[key], place[kind]] = True
    kind = found["unit_type"].replace_strict(kinds, list(range(len(kinds))), return_dtype=pl.Int64).to_numpy()
    born, enter = (found[name].cast(pl.Float64).to_numpy() for name in ("born", "enter"))
    leave = found["leave"].cast(pl.Float64).fill_null(np.inf).to_numpy()
    return Fleet(ageing.Machines(kind, born, enter, leave), fits)


def outlook(needed: Needed, days: int, parts: int, fleet: Fleet | None, years: int = 1) -> Outlook:
    """
    Look ahead from the end of a log.

    Parameters
    ----------
    needed : Needed
        Needs of the log.
    days : int
        Its length.
    parts : int
    fleet : Fleet or None
    years : int
        Years to look ahead.
    """
    wave = season(needed.part, needed.day, days, parts)
    known = np.isfinite(needed.age) & (needed.age >= 0.0)
    if fleet is None or not len(known) or known.mean() < LEAST_LISTED:
        flat = np.ones((years, parts))
        return Outlook(wave, None, flat, np.ones(parts), np.full((years, parts), np.nan))
    fits, kinds = fleet.fits.astype(np.float64), fleet.fits.shape[1]
    past = fits @ ageing.years_by_age(fleet.machines, 0.0, float(days), kinds)
    ahead = np.einsum("pk,yka->ypa", fits, ageing.years_ahead(fleet.machines, float(days), years, kinds))
    counts = np.zeros((parts, ageing.AGES))
    np.add.at(counts, (needed.part[known], ageing.age_of(needed.age[known])), 1.0)
    shape = ageing.age_shape(counts, past)
    before = ageing.expected(shape, past)
    length = days / DAYS_A_YEAR
    growth = _over(ageing.expected(shape, ahead), before / length)
    machines = ahead.sum(axis=2)
    each = np.where(shape.is_shown, _over(growth[0], _over(machines[0], past.sum(axis=1) / length)), 1.0)
    return Outlook(wave, shape, growth, each, machines)


def _over(above: Floats, below: Floats) -> Floats:
    """A ratio; 1 where there is nothing below."""
    return np.where(below > 0.0, above / np.where(below > 0.0, below, 1.0), 1.0)
