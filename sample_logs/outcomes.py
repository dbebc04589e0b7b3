"""What becomes of a reported fault: every possible course of a job, with its probability.

The simulation draws from these lists and the truth adds them up, so the two cannot disagree.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from sample_logs import planted
from sample_logs.faults import Fault, Fix, Mode, OutsideCause
from sample_logs.sources import Ageing, Returning, Source, Steady

Kind = Literal[
    "fixed",
    "cancelled",
    "no access",
    "no fault found",
    "quote declined",
    "beyond economic repair",
    "referred",
    "made safe",
]


@dataclass(frozen=True)
class Work:
    """One action on one part."""

    part_no: str
    action: str
    mechanism: str = ""
    finding: str = ""


@dataclass(frozen=True)
class Course:
    """One way a job can go. `works` are the parts it works on; `back` is what may bring the fault back."""

    kind: Kind
    works: tuple[Work, ...] = ()
    fix: Fix | None = None
    mode: Mode | None = None
    back: tuple[str, float, float] | None = None  # why, probability, mean days
    corrects: bool = False  # an outside cause was put right
    wrong: bool = False  # the part was not the one that had failed


Courses = tuple[tuple[float, Course], ...]


def _fixing(fault: Fault, mode: Mode, fix: Fix) -> Course:
    why = "cured nothing" if fix.cures_nothing else "relapse"
    work = Work(fault.part_no, fix.action, mode.mechanism, mode.finding)
    return Course("fixed", (work,), fix, mode, (why, fix.relapse, fix.mean_days))


def _with_second_part(fault: Fault, course: Course) -> list[tuple[float, Course]]:
    part_no, share = planted.DONE_TOGETHER.get((fault.unit_type, fault.part_no), ("", 0.0))
    if not share:
        return [(1.0, course)]
    second = Work(part_no, "clean", "blocked", "scale and grit")
    both = Course("fixed", (*course.works, second), course.fix, course.mode, course.back)
    return [(1.0 - share, course), (share, both)]


def _mended(fault: Fault, modes: tuple[Mode, ...], *, allow_useless: bool) -> list[tuple[float, Course]]:
    """Courses in which the failed part is worked on; shares add up to 1."""
    courses = []
    total = sum(mode.share for mode in modes)
    for mode in modes:
        fixes = [fix for fix in mode.fixes if allow_useless or not fix.cures_nothing]
        of_fixes = sum(fix.share for fix in fixes)
        for fix in fixes:
            share = mode.share / total * fix.share / of_fixes
            courses += [
                (share * p, course) for p, course in _with_second_part(fault, _fixing(fault, mode, fix))
            ]
    return courses


def _wrongly_mended(part_no: str) -> Course:
    fix = Fix("replace", 1.0, *planted.WRONG_RETURNS, 40.0)
    return Course(
        "fixed",
        (Work(part_no, "replace"),),
        fix,
        None,
        ("wrong diagnosis", *planted.WRONG_RETURNS),
        wrong=True,
    )


def _complete(ends: list[tuple[float, Course]], rest: list[tuple[float, Course]]) -> Courses:
    left = 1.0 - sum(p for p, _ in ends)
    return tuple((p, course) for p, course in [*ends, *((left * p, course) for p, course in rest)] if p > 0)


def _unmended() -> list[tuple[float, Course]]:
    back = ("not seen", *planted.NOT_SEEN_RETURNS)
    return [
        (planted.CANCELLED, Course("cancelled")),
        (planted.NO_ACCESS_AND_GIVEN_UP, Course("no access")),
        (planted.NOT_SEEN_AT_VISIT, Course("no fault found", back=back)),
    ]


def _can_hurt(fault: Fault) -> bool:
    return any(symptom in SAFETY_SYMPTOMS for symptom, _ in fault.symptoms)


SAFETY_SYMPTOMS = ("burning smell", "tingle from machine")


@cache
def new_fault(fault: Fault) -> Courses:
    """Courses of a fault that is new."""
    ends = _unmended()
    if not fault.modes:
        return _complete(ends, [(1.0, Course("referred"))])
    ends += [
        (fault.declined, Course("quote declined")),
        (fault.beyond, Course("beyond economic repair")),
        (planted.MADE_SAFE_AND_LEFT if _can_hurt(fault) else 0.0, Course("made safe")),
        (fault.wrong[1], _wrongly_mended(fault.wrong[0])),
    ]
    return _complete(ends, _mended(fault, fault.modes, allow_useless=True))


@cache
def returned_fault(fault: Fault, mode: Mode | None, why: str) -> Courses:
    """Courses of a fault that has come back: the same failure, and after a wrong diagnosis the right part."""
    if not fault.modes:
        return _complete([], [(1.0, Course("referred"))])
    modes = (mode,) if mode is not None else fault.modes
    ends = [(0.02, Course("cancelled"))]
    return _complete(ends, _mended(fault, modes, allow_useless=why == "relapse"))


@cache
def outside(cause: OutsideCause) -> Courses:
    """Courses of a fault that comes from outside the machine: put right, both, or only the part that it mimics."""
    fix = Fix(cause.mimic_action, 1.0, cause.relapse, cause.mean_days, planted.OUTSIDE_MEDIAN_MIN)
    work = Work(cause.mimics, cause.mimic_action)
    part_alone = 1.0 - cause.only_cause - cause.both
    back = ("outside", cause.relapse, cause.mean_days)
    ends = _unmended()[:2]
    return _complete(
        ends,
        [
            (cause.only_cause, Course("fixed", fix=fix, corrects=True)),
            (cause.both, Course("fixed", (work,), fix, corrects=True)),
            (part_alone, Course("fixed", (work,), fix, back=back, wrong=True)),
        ],
    )


NOTHING_WRONG: Courses = (
    (planted.CANCELLED, Course("cancelled")),
    (1.0 - planted.CANCELLED, Course("no fault found")),
)

HOSE_SEATED_AGAIN: Courses = ((1.0, Course("fixed")),)


def courses(source: Source) -> Courses:
    """All courses of a job from a source, with probabilities that add up to 1."""
    if isinstance(source, Ageing):
        return new_fault(source.fault)
    if isinstance(source, Returning):
        if source.why == "disturbed by us":
            return HOSE_SEATED_AGAIN
        if isinstance(source.target, OutsideCause):
            return outside(source.target)
        return returned_fault(source.target, source.mode, source.why)
    if isinstance(source, Steady) and isinstance(source.what, OutsideCause):
        return outside(source.what)
    return NOTHING_WRONG


def symptoms(source: Source, unit_type: str) -> tuple[tuple[str, float], ...]:
    """What the customer reports, with probabilities: a fault that returns is reported as before."""
    if isinstance(source, Ageing):
        return source.fault.symptoms
    if isinstance(source, Returning):
        return ((source.symptom, 1.0),)
    if isinstance(source.what, OutsideCause):
        return source.what.symptoms
    of_type = planted.NOTHING_WRONG_SYMPTOMS[unit_type]
    return tuple((symptom, 1.0 / len(of_type)) for symptom in of_type)
