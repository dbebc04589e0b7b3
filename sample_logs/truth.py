"""The planted truth of the committed sample, as the figures define it: what an honest analysis must find.

The planted numbers themselves are in `planted.py`; here they are added up over the machines and jobs of the sample.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from sample_logs import planted
from sample_logs.expected import Cell, expected_failures
from sample_logs.faults import FAULTS
from sample_logs.jobs import Job
from sample_logs.outcomes import courses
from sample_logs.returns import Return, true_returns
from sample_logs.scenario import LAST_DAY, LOG_START
from sample_logs.simulate import committed_firm

FAULT_KINDS = ("fault", "workshop")


@dataclass(frozen=True)
class Truth:
    """A true value; `weight` is what it is an average over (machine-years, index jobs, fixed jobs)."""

    value: float
    weight: float


def day_of(complete_to: date) -> float:
    """First moment of a date, as days since the start of the log."""
    return float((complete_to - LOG_START.date()).days)


@lru_cache(maxsize=4)
def _cells(complete_to: date | None) -> tuple[Cell, ...]:
    until = day_of(complete_to) if complete_to else day_of(LAST_DAY) + 1
    return tuple(expected_failures(committed_firm().lives, until))


@lru_cache(maxsize=4)
def _returns(days: int) -> tuple[Return, ...]:
    return tuple(true_returns(committed_firm().jobs, days))


def _of(item: object, by: tuple[str, ...]) -> tuple[object, ...]:
    return tuple(getattr(item, name) for name in by)


def part_failure_rates(*by: str, complete_to: date | None = None) -> dict[tuple, Truth]:
    """
    True failures per machine-year on the machine-list basis.

    Parameters
    ----------
    *by : str
        Of `unit_type`, `make`, `model`, `is_bad_lot`; `part_no` is always the last group.
    complete_to : date, optional
        End of the window, that day left out; default the end of the log.

    Returns
    -------
    dict of tuple to Truth
        Value per machine-year, weight in machine-years, by group; the superseded IV-3306 counts as IV-3310.
    """
    sums: dict[tuple, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for cell in _cells(complete_to):
        total = sums[_of(cell, (*by, "part_no"))]
        total[0] += cell.expected
        total[1] += cell.machine_years
    return {group: Truth(failures / years, years) for group, (failures, years) in sums.items()}


def return_rates(*by: str, days: int = 30, same_fault: bool = True) -> dict[tuple, Truth]:
    """
    True probability of a return within some days of a fix.

    Parameters
    ----------
    *by : str
        Of `unit_type`, `part_no`, `action`, `technician`; none: all index jobs.
    days : int
        30 or 90.
    same_fault : bool
        The same fault first, or any fault.

    Returns
    -------
    dict of tuple to Truth
        Mean probability over the index jobs of the group, and their number.
    """
    name = "same_fault" if same_fault else "any_fault"
    groups: dict[tuple, dict[str, float]] = defaultdict(dict)
    for row in _returns(days):
        groups[_of(row, by)][row.job_id] = getattr(row, name)
    return {group: Truth(sum(jobs.values()) / len(jobs), len(jobs)) for group, jobs in groups.items()}


def planted_relapse(unit_type: str, part_no: str, action: str, days: int) -> float:
    """
    Planted share of fixes whose fault comes back of itself within some days: q * (1 - exp(-days / mean)).

    Averaged over the ways in which the part fails, as planted; other causes of a return come on top.
    """
    total = share = 0.0
    for fault in FAULTS:
        for mode in fault.modes if (fault.unit_type, fault.part_no) == (unit_type, part_no) else ():
            for fix in mode.fixes:
                if fix.action == action:
                    share += mode.share * fix.share
                    total += mode.share * fix.share * fix.relapse * (1 - math.exp(-days / fix.mean_days))
    return total / share


def planted_median_minutes(unit_type: str, part_no: str, action: str) -> float:
    """Planted median hands-on minutes of a visit that fixes it, one work, not by the slow technician."""
    for fault in FAULTS:
        for mode in fault.modes if (fault.unit_type, fault.part_no) == (unit_type, part_no) else ():
            for fix in mode.fixes:
                if fix.action == action:
                    return fix.median_min
    raise KeyError((unit_type, part_no, action))


def _fault_jobs() -> list[Job]:
    return [job for job in committed_firm().jobs if job.kind in FAULT_KINDS]


def mean_hands_on_minutes() -> dict[tuple[str], Truth]:
    """True mean hands-on minutes of fixed jobs, all visits added, by unit_type."""
    groups: dict[tuple[str], list[float]] = defaultdict(list)
    for job in _fault_jobs():
        if job.finished is not None and job.course.kind == "fixed":
            groups[(job.machine.unit_type,)].append(job.expected_min)
    return {group: Truth(sum(minutes) / len(minutes), len(minutes)) for group, minutes in groups.items()}


def fixed_shares() -> dict[tuple[str], Truth]:
    """True share of closed fault jobs that end fixed, by unit_type, from what each job came from."""
    groups: dict[tuple[str], list[float]] = defaultdict(list)
    for job in _fault_jobs():
        if not job.is_open:
            chance = sum(p for p, course in courses(job.source) if course.kind == "fixed")
            groups[(job.machine.unit_type,)].append(chance)
    return {group: Truth(sum(chances) / len(chances), len(chances)) for group, chances in groups.items()}


# One part under two numbers, one after the other: a figure by part number as written shows each by itself, while the
# truth has them under the newer one.
SPLIT_BY_SUPERSESSION = ("IV-3306", "IV-3310")

# Cells that hold enough of the log to be called `enough`, whoever counts them: (measure, group).
_RATES = {
    "coffee machine": ("BP-5570", "FM-2048", "GB-8850", "GS-6330", "SV-3340"),
    "dishwasher": ("CP-5510", "DL-4415", "DP-1107", "DS-6120", "FI-1001", "FM-2041", "HE-7203", "IV-3302"),
    "dryer": ("BT-3315", "HE-7305", "RO-5140", "TC-2230"),
    "fridge-freezer": ("DG-6210", "FN-4820"),
    "glass washer": ("DT-8105", "RJ-1020", "RP-5530"),
    "ice maker": ("LP-2260",),
    "washer": ("BR-8810", "DL-4420", "DP-1107", "HE-7210", "IV-3302", "SA-5125"),
}
_REPEATS = (
    ("washer", "DP-1107", "clean"),
    ("washer", "BR-8810", "replace"),
    ("dishwasher", "FM-2041", "free"),
    ("dishwasher", "FM-2041", "replace"),
    ("dishwasher", "DP-1107", "replace"),
    ("dryer", "BT-3315", "replace"),
    ("coffee machine", "GS-6330", "replace"),
    ("coffee machine", "GB-8850", "replace"),
    ("glass washer", "DT-8105", "replace"),
)
MUST_BE_ENOUGH: tuple[tuple[str, dict[str, str]], ...] = (
    *(
        ("part-failure-rate", {"unit_type": kind, "part_no": part})
        for kind, parts in _RATES.items()
        for part in parts
    ),
    *(
        ("repeat-visits", dict(zip(("unit_type", "part_no", "action"), cell, strict=True)))
        for cell in _REPEATS
    ),
    *(("time-to-fix", {"unit_type": kind}) for kind in _RATES),
    *(("fixed-share", {"unit_type": kind}) for kind in _RATES),
)

__all__ = ["MUST_BE_ENOUGH", "SPLIT_BY_SUPERSESSION", "Truth", "fixed_shares", "mean_hands_on_minutes", "part_failure_rates", "planted",
           "planted_median_minutes", "planted_relapse", "return_rates"]  # fmt: skip
