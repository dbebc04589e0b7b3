"""The true failure rate of each part: expected failures and machine-years, by the rules of the figure.

A failure of a part is a fault job in which the part is worked on, unless the part was worked on by a job finished
at most 30 days before. For each machine the expected number is the integral, over the days on which the part is at
risk, of the intensity of everything that can lead to such a job: the part's own hazard, its relapses after the
30 days, other faults blamed on it, outside causes that mimic it, and second works. Nothing is drawn here:
observed minus expected is a martingale, so that an exact Poisson interval on the observed number is a fair test.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from sample_logs.jobs import Job
from sample_logs.life import Life
from sample_logs.outcomes import courses
from sample_logs.scenario import DAYS_OF_LOG, DAYS_OF_YEAR, PARTS
from sample_logs.sources import Source, Steady

REPEAT_DAYS = 30
Spell = tuple[float, float]


@dataclass(frozen=True)
class Cell:
    """Expected failures of a part on the machines of one model (`is_bad_lot`: those of the bad lot)."""

    unit_type: str
    make: str
    model: str
    is_bad_lot: bool
    part_no: str
    expected: float
    machine_years: float


def fitted_parts(unit_type: str) -> tuple[str, ...]:
    """Part numbers fitted in a type, each superseded number under the one that replaced it."""
    return tuple(part.part_no for part in PARTS if unit_type in part.fits and not part.replaced_by)


@lru_cache(maxsize=4096)
def worked_shares(source: Source) -> dict[str, float]:
    """Probability that a job from a source works on each part."""
    shares: dict[str, float] = {}
    if isinstance(source, Steady) and source.what == "leaves":
        return shares
    for probability, course in courses(source):
        for work in course.works:
            shares[work.part_no] = shares.get(work.part_no, 0.0) + probability
    return shares


def worked_parts(job: Job) -> set[str]:
    """Parts that a job of any kind worked on; none while it is open."""
    if job.finished is None:
        return set()
    if job.course is not None:
        return {work.part_no for work in job.course.works}
    lines = (line for visit in job.visits for line in visit.lines)
    return {
        line["part_no"] for line in lines if line.get("part_no") and line["action"] in {"clean", "replace"}
    }


def _off_risk(life: Life, part_no: str) -> list[Spell]:
    """Spells from a report until 30 days after the finish, both days whole, for jobs of any kind on a part."""
    jobs = sorted((job for job in life.jobs if part_no in worked_parts(job)), key=lambda job: job.reported)
    return [(job.reported, math.floor(job.finished) + REPEAT_DAYS + 1.0) for job in jobs]


def _at_risk(life: Life, part_no: str, until: float) -> list[Spell]:
    """Spells in which a part can fail, in order: under care, and not soon after a job on it."""
    machine = life.machine
    now, end = machine.entered, until if machine.ended is None else min(machine.ended, until)
    spells = []
    for off, on in _off_risk(life, part_no):
        if now < min(off, end):
            spells.append((now, min(off, end)))
        now = max(now, on)
    return [*spells, (now, end)] if now < end else spells


def _overlap(one: Spell, other: Spell) -> Spell | None:
    start, end = max(one[0], other[0]), min(one[1], other[1])
    return (start, end) if start < end else None


def _expected(life: Life, part_no: str, at_risk: list[Spell]) -> float:
    total = 0.0
    for start, end, sources in life.up:
        pieces = [piece for spell in at_risk if (piece := _overlap((start, end), spell))]
        for source in sources if pieces else ():
            share = worked_shares(source).get(part_no, 0.0)
            if share:
                total += share * sum(float(source.cumulative(*piece)) for piece in pieces)
    return total


def expected_failures(lives: tuple[Life, ...], until: float = DAYS_OF_LOG) -> list[Cell]:
    """
    Expected failures and machine-years of the listed machines.

    Parameters
    ----------
    lives : tuple of Life
        Of a simulated firm.
    until : float
        End of the window, in days since the start of the log.

    Returns
    -------
    list of Cell
        One per model, part, and membership of the bad lot.
    """
    totals: dict[tuple[str, str, str, bool, str], list[float]] = {}
    for life in (life for life in lives if life.machine.is_listed):
        machine = life.machine
        for part_no in fitted_parts(machine.unit_type):
            spells = _at_risk(life, part_no, until)
            group = (machine.unit_type, machine.model.make, machine.model.model, machine.in_bad_lot, part_no)
            total = totals.setdefault(group, [0.0, 0.0])
            total[0] += _expected(life, part_no, spells)
            total[1] += sum(end - start for start, end in spells) / DAYS_OF_YEAR
    return [Cell(*group, *total) for group, total in sorted(totals.items())]
