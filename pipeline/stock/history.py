"""The past as stock planning needs it: attended fault jobs in order, and the pieces that each of them needed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.measures.first_visit import NEEDED_A_FIX
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, resolve
from pipeline.stock.outlook import Needed

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
# What a visit says when only the part stood between it and the end of the job.
NO_PART = "part not on van"
DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class History:
    """
    Attended fault jobs outside the workshop, in the order of their first attended visits.

    Attributes
    ----------
    day : int, (jobs,)
        Of the first attended visit, counted from the first day of the window.
    van : int, (jobs,)
        Who went, 0 … vans - 1; the log's technicians stand for vans.
    needed_fix : bool, (jobs,)
        Whether the first visit needed a fix (measure `first-visit`): the jobs that can be finished at it.
    parts_decide : bool, (jobs,)
        Whether the first visit ends the job if all its pieces are there: it did end it, or only a part was missing. First
        visits that failed for another reason stay failed.
    job, part, pieces : int, (needs,)
        What was needed: position of the job, position of the part in `keys`, pieces; in order of the jobs.
    there : bool, (needs,)
        Whether all those pieces were fitted at the first attended visit.
    keys : list of str, (parts,)
        Current part keys, in order.
    days : int
        Length of the window.
    age : float, (jobs,)
        Of the machine, in days; not a number where it is not on the machine list.
    names : tuple of str or None, (vans,)
        The technicians' pseudonyms; None for visits that name nobody.
    """

    day: Ints
    van: Ints
    needed_fix: Bools
    parts_decide: Bools
    job: Ints
    part: Ints
    pieces: Ints
    there: Bools
    keys: list[str]
    days: int
    bounds: Bounds
    age: Floats
    names: tuple[str | None, ...] = ()

    @property
    def jobs(self) -> int:
        """How many jobs there are."""
        return len(self.day)

    @property
    def vans(self) -> int:
        """How many technicians there are, at least one; a piece of a history knows of all."""
        return max(int(self.van.max(initial=0)) + 1, len(self.names))

    @property
    def with_parts(self) -> Bools:
        """Whether a job needed any part, (jobs,)."""
        with_parts = np.zeros(self.jobs, dtype=np.bool_)
        with_parts[self.job] = True
        return with_parts

    @property
    def jobs_for_parts(self) -> int:
        """Jobs that only the right part decides: they needed one, and nothing else stood in the way."""
        return int((self.parts_decide & self.needed_fix & self.with_parts).sum())

    @property
    def jobs_a_year(self) -> float:
        """Attended fault jobs a year, of all vans."""
        return self.jobs / self.days * DAYS_A_YEAR

    def between(self, start: int, end: int) -> History:
        """The jobs of some days, half open, with the same parts."""
        inside = (self.day >= start) & (self.day < end)
        place = np.cumsum(inside) - 1
        needs = inside[self.job]
        return History(
            self.day[inside],
            self.van[inside],
            self.needed_fix[inside],
            self.parts_decide[inside],
            place[self.job[needs]].astype(np.int64),
            self.part[needs],
            self.pieces[needs],
            self.there[needs],
            self.keys,
            max(1, end - start),
            self.bounds,
            self.age[inside],
            self.names,
        )

    @property
    def needed(self) -> Needed:
        """The needs by part, day and age of the machine."""
        return Needed(self.part, self.day[self.job], self.age[self.job])


JOBS = """
select
    j.job_no,
    cast(coalesce(v.started_at, v.finished_at, j.reported_at) as timestamp) as visit_at,
    coalesce(v.started_on, v.finished_on, j.reported_on) as visit_on,
    v.technician,
    v.outcome,
    list_contains($needed, v.outcome) as needed_a_fix,
    j.last_attended_no = j.first_attended_no as is_only_visit,
    coalesce(v.second_visit_reason, j.second_visit_reason) as reason,
    date_diff('day', e.age_origin_on, coalesce(v.started_on, v.finished_on, j.reported_on)) as age_days
from tables.jobs as j
join tables.visits as v on v.job_no = j.job_no and v.visit_no = j.first_attended_no
left join facts.exposure as e on e.machine_no = j.machine_no and e.basis = 'machine list'
where j.is_fault and j.job_kind <> 'workshop'
    and coalesce(v.started_on, v.finished_on, j.reported_on) >= $from_on
    and coalesce(v.started_on, v.finished_on, j.reported_on) < $to_on
order by visit_at, j.job_no
"""
NEEDS = "select job_no, part_key, pieces, was_there from facts.part_needs where is_fault order by job_no, part_key"


def history(con: duckdb.DuckDBPyConnection, also: Iterable[str] = ()) -> History:
    """
    The past of the whole window in which jobs are closed.

    Parameters
    ----------
    con : connection
        An open build.
    also : iterable of str
        Keys of parts that belong to `keys` even if no job needed them: what lies on a van, say.

    Raises
    ------
    CannotAnswerError
        If no job with a date was attended, or none says which part it needed.
    """
    bounds = resolve(con, Question(), needs_closed_jobs=True)
    values = {**bounds.parameters, "needed": list(NEEDED_A_FIX)}
    jobs = ask(con, JOBS, values).with_row_index("at")
    needs = ask(con, NEEDS, {}).join(jobs.select("job_no", "at"), on="job_no", how="inner")
    if not needs.height:
        raise CannotAnswerError(
            "No attended fault job says which part it needed (part_no or part_name with an action or part_status), "
            "so nothing can be said about stock."
        )
    needs = needs.sort("at", "part_key")
    keys = sorted({*needs["part_key"].unique().to_list(), *also})
    part = needs["part_key"].replace_strict(keys, list(range(len(keys))), return_dtype=pl.Int64)
    return History(
        _days_since(jobs["visit_on"], bounds.from_on),
        _codes(jobs["technician"]),
        _needed_fix(jobs, needs),
        _parts_decide(jobs, needs),
        needs["at"].cast(pl.Int64).to_numpy(),
        part.to_numpy(),
        needs["pieces"].cast(pl.Int64).to_numpy(),
        needs["was_there"].to_numpy(),
        keys,
        (bounds.to_on - bounds.from_on).days,
        bounds,
        jobs["age_days"].cast(pl.Float64).fill_null(np.nan).to_numpy(),
        tuple(jobs["technician"].unique(maintain_order=True).to_list()),
    )


def _days_since(days: pl.Series, start: date) -> Ints:
    return (days - start).dt.total_days().cast(pl.Int64).to_numpy()


def _codes(names: pl.Series) -> Ints:
    """Numbers for names, in order of their first appearance; no name is a van of its own."""
    order = names.unique(maintain_order=True)
    codes = pl.Series(range(len(order)), dtype=pl.Int64)
    known = dict(zip(order.to_list(), codes.to_list(), strict=True))
    return np.array([known[name] for name in names.to_list()], dtype=np.int64)


def _is_silent(jobs: pl.DataFrame) -> pl.Series:
    return jobs["outcome"].fill_null("unknown") == "unknown"


def _needed_fix(jobs: pl.DataFrame, needs: pl.DataFrame) -> Bools:
    """By the outcome of the first visit; without one, where a part was needed."""
    needed = jobs["needed_a_fix"].fill_null(value=False).to_numpy()
    with_parts = np.zeros(jobs.height, dtype=np.bool_)
    with_parts[needs["at"].to_numpy()] = True
    return np.asarray(needed | (_is_silent(jobs).to_numpy() & with_parts))


def _parts_decide(jobs: pl.DataFrame, needs: pl.DataFrame) -> Bools:
    ended = ((jobs["outcome"] == "fixed").fill_null(value=False) | _is_silent(jobs)) & jobs["is_only_visit"]
    lacked = np.zeros(jobs.height, dtype=np.bool_)
    lacked[needs.filter(~pl.col("was_there"))["at"].to_numpy()] = True
    # Without a reason, a part that was needed and not fitted at the first visit is taken for it.
    blamed = jobs["reason"].is_null() | (jobs["reason"] == NO_PART).fill_null(value=False)
    return np.asarray(ended.fill_null(value=False).to_numpy() | (lacked & blamed.to_numpy()))
