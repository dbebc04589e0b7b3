"""The life of one machine through the log: what fails when, what is done about it, what that leaves behind."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from typing import Any

from sample_logs import planted, wording
from sample_logs.faults import FAULTS, OUTSIDE_CAUSES, Fault, OutsideCause
from sample_logs.jobs import Job, by_day, to_minute
from sample_logs.outcomes import Course, courses, symptoms
from sample_logs.park import Machine
from sample_logs.scenario import DAYS_OF_LOG
from sample_logs.sources import Ageing, Returning, Source, Steady
from sample_logs.visits import make_visits

# How often the log says that a job is a return of an earlier one, where it is.
RETURN_WRITTEN = 0.55


@dataclass
class Life:
    """What happened to one machine, and the truth behind it."""

    machine: Machine
    jobs: list[Job] = field(default_factory=list)
    # Spells in which the machine worked: start, end, and the sources that could have ended them.
    up: list[tuple[float, float, tuple[Source, ...]]] = field(default_factory=list)


def _factor(machine: Machine, fault: Fault) -> float:
    factor = machine.model.effects.get(fault.part_no, 1.0)
    if machine.in_bad_lot and fault.part_no == planted.BAD_LOT_PART:
        factor *= planted.BAD_LOT_FACTOR
    return factor


def _renewed_before(rng: random.Random, machine: Machine, source: Ageing) -> Ageing:
    """A part at the start of the log: renewed at each failure since the machine was installed."""
    while (failed := source.reach(source.renewed, rng.expovariate(1.0))) < machine.entered:
        source = Ageing(source.fault, failed, source.factor)
    return source


def _draw(rng: random.Random, choices: tuple[tuple[float, Any], ...]) -> Any:
    draw = rng.random()
    for share, item in choices:
        draw -= share
        if draw < 0:
            return item
    return choices[-1][1]


class Keeper:
    """Runs one machine from event to event."""

    def __init__(self, seed: int, machine: Machine) -> None:
        self.rng = random.Random(f"{seed}:machine:{machine.number}")
        self.machine = machine
        self.life = Life(machine)
        self.ageing = [
            _renewed_before(self.rng, machine, Ageing(fault, machine.installed, _factor(machine, fault)))
            for fault in FAULTS
            if fault.unit_type == machine.unit_type
        ]
        self.returning: list[tuple[Returning, Job]] = []

    def sources(self) -> tuple[Source, ...]:
        """Everything that can happen next."""
        flaws = [
            Steady(OUTSIDE_CAUSES[index].rate, OUTSIDE_CAUSES[index]) for index in sorted(self.machine.flaws)
        ]
        always = [
            Steady(planted.NOTHING_WRONG_RATE, "nothing wrong"),
            Steady(planted.LEAVES_PER_YEAR, "leaves"),
        ]
        return (*self.ageing, *(source for source, _ in self.returning), *flaws, *always)

    def run(self) -> Life:
        """Live until the log ends or the machine leaves."""
        now = self.machine.entered
        while now < DAYS_OF_LOG:
            sources = self.sources()
            times = [source.reach(now, self.rng.expovariate(1.0)) for source in sources]
            when = min(times)
            self.life.up.append((now, min(when, DAYS_OF_LOG), sources))
            if when >= DAYS_OF_LOG:
                break
            source = sources[times.index(when)]
            if isinstance(source, Steady) and source.what == "leaves":
                self._leaves(when)
                break
            now = self._job(source, by_day(when, now))
        return self.life

    def _leaves(self, when: float) -> None:
        if when < DAYS_OF_LOG:
            self.machine.ended = float(math.floor(when))
            self.machine.removed_on = self.machine.ended

    def _job(self, source: Source, reported: float) -> float:
        """Take one report through its visits; returns the time from which the machine works again."""
        machine = self.machine
        job = Job(machine, "fault", reported, source=source)
        if machine.unit_type == "coffee machine" and self.rng.random() < 0.08:
            job.kind = "workshop"
        job.symptom = _draw(self.rng, tuple((p, name) for name, p in symptoms(source, machine.unit_type)))
        if self.rng.random() < 0.6:
            job.fault_code = wording.fault_code(machine.model.make, job.symptom, machine.unit_type)
        job.course = _draw(self.rng, courses(source))
        self._say_return(source, job)
        make_visits(self.rng, job)
        self.life.jobs.append(job)
        return self._after(source, job)

    def _say_return(self, source: Source, job: Job) -> None:
        earlier = next((of for back, of in self.returning if back is source), None)
        if earlier is None:
            return
        why = source.why
        if why == "disturbed by us" or self.rng.random() < RETURN_WRITTEN:
            job.returns_to = earlier
            job.return_reason = why if why in {"wrong diagnosis", "disturbed by us"} else "same fault"
            if why == "relapse" and earlier.course.fix.action == "replace" and self.rng.random() < 0.25:
                job.return_reason = "faulty new part"

    def _after(self, source: Source, job: Job) -> float:
        if job.is_open:
            return math.inf
        course, machine = job.course, self.machine
        finished = job.finished
        if finished is None:  # nobody came, or nobody was in: somebody else mends it
            mended = to_minute(max(job.reported + 4.0, (job.visits[-1].finish or 0.0) + 1.0))
            self._mended_elsewhere(source, mended)
            return mended
        self._forget(source)
        if course.kind in {"beyond economic repair", "made safe", "referred", "quote declined"}:
            return self._maybe_the_end(source, course, finished)
        self._renew(course, finished)
        self._leave_behind(source, job, finished)
        if course.corrects:
            machine.flaws -= {index for index, cause in enumerate(OUTSIDE_CAUSES) if cause is _cause(source)}
        job.after = self.sources()
        return finished

    def _maybe_the_end(self, source: Source, course: Course, finished: float) -> float:
        draw, delay = self.rng.random(), self.rng.random()
        stays = {"quote declined": 1 - planted.DECLINED_LEAVES, "referred": 0.5}.get(course.kind, 0.0)
        if draw < stays:
            mended = to_minute(finished + 5.0)
            self._mended_elsewhere(source, mended)
            return mended
        gone = finished + 1 + delay * (20 if course.kind == "quote declined" else 12)
        self._leaves(gone)
        if course.kind == "beyond economic repair":
            self.machine.ended = float(math.floor(finished))
            if delay > 0.8:  # the list was not kept up: only the job says so
                self.machine.removed_on = None
        return math.inf

    def _forget(self, source: Source) -> None:
        target = (
            source.fault
            if isinstance(source, Ageing)
            else getattr(source, "target", getattr(source, "what", None))
        )
        self.returning = [(back, of) for back, of in self.returning if back.target != target]

    def _mended_elsewhere(self, source: Source, day: float) -> None:
        self._forget(source)
        fault = source.fault if isinstance(source, Ageing) else getattr(source, "target", None)
        self._renew_parts({getattr(fault, "part_no", None)}, day)

    def _renew(self, course: Course, finished: float) -> None:
        self._renew_parts({work.part_no for work in course.works if work.action == "replace"}, finished)

    def _renew_parts(self, part_nos: set[str | None], day: float) -> None:
        self.ageing = [
            Ageing(source.fault, day, source.factor) if source.fault.part_no in part_nos else source
            for source in self.ageing
        ]

    def _leave_behind(self, source: Source, job: Job, finished: float) -> None:
        course = job.course
        target = (
            source.fault
            if isinstance(source, Ageing)
            else getattr(source, "target", getattr(source, "what", None))
        )
        if course.back is not None:
            why, probability, mean = course.back
            if _is_different(self.machine, job, course):
                probability = planted.DIFFERENT_RELAPSE
            back = Returning(target, course.mode, why, job.symptom, finished, probability, mean)
            self.returning.append((back, job))
        if any(work.action == "replace" for work in course.works) and self.machine.unit_type in {
            "dishwasher",
            "washer",
        }:
            hose = Returning(target, None, "disturbed by us", "leaks", finished, *planted.DISTURBED_BY_US)
            self.returning.append((hose, job))


def _cause(source: Source) -> OutsideCause | None:
    what = getattr(source, "target", getattr(source, "what", None))
    return what if isinstance(what, OutsideCause) else None


def _is_different(machine: Machine, job: Job, course: Course) -> bool:
    unit_type, part_no, action = planted.DIFFERENT_PROCEDURE
    did = {(work.part_no, work.action) for work in course.works}
    return (
        machine.unit_type == unit_type
        and (part_no, action) in did
        and job.visits[-1].technician == planted.DIFFERENT_TECHNICIAN
    )


def live(seed: int, machine: Machine) -> Life:
    """
    Simulate one machine.

    Parameters
    ----------
    seed : int
        Seed of the firm; each machine has a stream of its own.
    machine : Machine
        Its end and its flaws are changed.

    Returns
    -------
    Life
        Jobs in order of report, and the truth behind them.
    """
    return Keeper(seed, machine).run()
