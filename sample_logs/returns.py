"""The true probability of a return after each fix, by the rules of the figure.

For each index job (a fault job that ended fixed) everything that could bring the machine back is known as it stood
at the finish. With intensities lambda(t), the probability that the first later report comes within D days and is
the same fault is the integral of lambda_same(t) * exp(-integral of all lambda) over the days 0..D. A later report
is the same fault when it shares the symptom or a worked part, or says so. A machine that leaves competes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sample_logs.jobs import Job
from sample_logs.outcomes import courses, symptoms
from sample_logs.sources import Returning, Source, Steady

STEPS_PER_DAY = 4


@dataclass(frozen=True)
class Return:
    """True probabilities of one index job, and the work it did on one part ("" where on none)."""

    job_id: str
    unit_type: str
    part_no: str
    action: str
    technician: str
    same_fault: float
    any_fault: float


@lru_cache(maxsize=65536)
def _same_without_return_note(source: Source, unit_type: str, symptom: str, worked: frozenset[str]) -> float:
    by_part = sum(p for p, course in courses(source) if worked & {work.part_no for work in course.works})
    by_symptom = dict(symptoms(source, unit_type)).get(symptom, 0.0)
    return by_part + (1.0 - by_part) * by_symptom


def same_share(source: Source, job: Job) -> float:
    """Probability that a report from a source counts as the same fault as an index job."""
    if isinstance(source, Steady) and source.what == "leaves":
        return 0.0
    if isinstance(source, Returning) and source.why == "disturbed by us":
        return 1.0 if source.finished == job.finished else 0.0  # always noted as a return of that job
    worked = frozenset(work.part_no for work in job.course.works)
    return _same_without_return_note(source, job.machine.unit_type, job.symptom, worked)


def return_probabilities(job: Job, days: int) -> tuple[float, float]:
    """
    Probability that the first later report comes within some days.

    Parameters
    ----------
    job : Job
        An index job, with what could follow it.
    days : int
        Within D days means local dates: until the end of the D-th day after the finish.

    Returns
    -------
    same_fault, any_fault : float
        Same fault first; any fault first.
    """
    start = job.finished
    grid = np.linspace(start, math.floor(start) + days + 1.0, days * STEPS_PER_DAY + 1)
    everything, same, leaving = np.zeros_like(grid), np.zeros_like(grid), np.zeros_like(grid)
    for source in job.after:
        hazard = np.asarray(source.cumulative(start, grid))
        everything += hazard
        same += same_share(source, job) * hazard
        if isinstance(source, Steady) and source.what == "leaves":
            leaving += hazard
    # Survival over a step is averaged exactly for hazards that are even within the step.
    steps = np.diff(everything)
    kept = np.exp(-everything[:-1]) * np.where(steps > 0, -np.expm1(-steps) / np.maximum(steps, 1e-300), 1.0)
    return float(np.sum(np.diff(same) * kept)), float(np.sum(np.diff(everything - leaving) * kept))


def true_returns(jobs: tuple[Job, ...], days: int) -> list[Return]:
    """One row per index job and part that it worked on, with its true probabilities of a return."""
    rows = []
    for job in jobs:
        if not job.after or job.course.kind != "fixed":
            continue
        same, anything = return_probabilities(job, days)
        for part_no, action in {(work.part_no, work.action) for work in job.course.works} or {("", "")}:
            technician = job.visits[-1].technician
            rows.append(
                Return(job.job_id, job.machine.unit_type, part_no, action, technician, same, anything)
            )
    return rows
