"""From the course of a job to its visits: who comes when, how long it takes, what is written down."""

from __future__ import annotations

import math
import random

from sample_logs import planted, wording
from sample_logs.faults import OutsideCause
from sample_logs.jobs import Job, Row, Visit, log_normal, moment, slot, to_minute
from sample_logs.outcomes import SAFETY_SYMPTOMS, Work
from sample_logs.park import Machine
from sample_logs.scenario import DAYS_OF_LOG, PART, SUPERSEDED_ON, TECHNICIANS
from sample_logs.sources import Ageing, Returning

# How often things happen at visits, whatever the fault.
NOBODY_IN = 0.02
PART_FAULTY_NEW = 0.010
TAKEN_OUT_AGAIN = 0.012
ONLY_TEMPORARY = 0.012
CHECK_WRITTEN = 0.28
WHEEL_CHECK_WRITTEN = 0.85
SAME_TECHNICIAN_AGAIN = 0.75


def choose_technician(rng: random.Random, machine: Machine, day: float) -> str:
    """Mostly somebody of the district; old machines and washers have their people."""
    weights = {}
    is_old = machine.age_years(day) > planted.OLD_AGE_YEARS
    for code, homes in TECHNICIANS.items():
        weight = 4.0 if machine.district in homes else 0.6
        if is_old and code == planted.OLD_MACHINES_TECHNICIAN:
            weight *= planted.OLD_MACHINES_WEIGHT
        if machine.unit_type == "washer" and code == planted.DIFFERENT_TECHNICIAN:
            weight *= planted.WASHER_WEIGHT
        weights[code] = weight
    draw = rng.random() * sum(weights.values())
    for code, weight in weights.items():
        draw -= weight
        if draw < 0:
            return code
    return code


def _another(rng: random.Random, technician: str, machine: Machine, day: float) -> str:
    return technician if rng.random() < SAME_TECHNICIAN_AGAIN else choose_technician(rng, machine, day)


class Diary:
    """Books the visits of one job, one after the other, until the log ends."""

    def __init__(self, rng: random.Random, job: Job) -> None:
        self.rng, self.job = rng, job
        self.technician = choose_technician(rng, job.machine, job.reported)
        self.free_from = job.reported + max(0.1, log_normal(rng, 1.6, 0.7))

    def visit(self, outcome: str, median: float | None, lines: list[Row]) -> Visit | None:
        """Add a visit; None when it falls after the end of the log, and the job stays open."""
        if self.job.is_open:
            return None
        start = slot(self.rng, self.free_from)
        if start >= DAYS_OF_LOG - 0.3:
            self._leave_open(start)
            return None
        visit = Visit(self.technician, outcome, booked=_on_the_half_hour(start), start=start, lines=lines)
        visit.travel = max(4, round(log_normal(self.rng, 19, 0.45)))
        if median is None:
            visit.finish = to_minute(start + 5 / 1440)
        else:
            self._spend(visit, median)
        self.job.visits.append(visit)
        self.free_from = visit.finish + 0.5
        return visit

    def wait(self, days: float) -> None:
        """Nothing happens for some days; the next visit may be somebody else's."""
        self.free_from += days
        self.technician = _another(self.rng, self.technician, self.job.machine, self.free_from)

    def _spend(self, visit: Visit, median: float) -> None:
        if visit.technician == planted.SLOW_TECHNICIAN:
            median *= planted.SLOW_FACTOR
        visit.minutes = min(max(5, round(log_normal(self.rng, median, planted.SIGMA_MINUTES))), 420)
        visit.finish = to_minute(visit.start + visit.minutes / 1440)
        self.job.expected_min += median * math.exp(planted.SIGMA_MINUTES**2 / 2)

    def _leave_open(self, start: float) -> None:
        self.job.is_open = True
        if self.job.visits:
            return
        visit = Visit("", "open", booked=_on_the_half_hour(start), lines=[{}])
        self.job.visits.append(visit)


def _on_the_half_hour(day: float) -> float:
    return math.floor(day * 48) / 48


def fitted_number(part_no: str, day: float) -> str:
    """Part number of the day: a superseded part has its old number until its last day."""
    old = [part for part in PART.values() if part.replaced_by == part_no]
    return old[0].part_no if old and moment(day).date() < SUPERSEDED_ON else part_no


def _part_line(rng: random.Random, work: Work, day: float, status: str) -> Row:
    """Line of a part that is fitted, waited for or taken out again."""
    number = fitted_number(work.part_no, day)
    price = PART[number].unit_cost * 1.03 ** max(0.0, day / 365.25)
    line = {"part_no": number, "part_name": PART[number].name, "part_status": status, "quantity": "1"}
    if status in {"fitted", "faulty new"}:
        line["part_cost"] = f"{price:.2f}"
        # Parts that keep people safe are fitted as the maker makes them.
        pattern = not PART[number].is_safety_part and rng.random() < 0.22
        line["part_source"] = "pattern" if pattern else "genuine"
    return line


def work_lines(rng: random.Random, job: Job, day: float) -> list[Row]:
    """Lines of the visit that fixes it: checks, parts, and what was put right outside the machine."""
    course, lines = job.course, []
    useless = course.fix is not None and course.fix.cures_nothing
    for work in course.works:
        written = WHEEL_CHECK_WRITTEN if PART[work.part_no].name == "flow meter" else CHECK_WRITTEN
        check = wording.part_check(work)
        if rng.random() < written and not course.wrong and check not in lines:
            lines.append(check)
        line = wording.work_line(work, useless=useless)
        if work.action == "replace":
            line |= _part_line(rng, work, day, "fitted")
        lines.append(line)
    if course.corrects:
        lines += _outside_lines(rng, outside_cause(job))
    if isinstance(job.source, Returning) and job.source.why == "disturbed by us":
        lines.append({"finding": "hose not seated", "mechanism": "leaking", "cause": "earlier repair",
                      "part_name": "hose", "action": "reseat"})  # fmt: skip
    return lines


def outside_cause(job: Job) -> OutsideCause | None:
    """Outside cause that a job comes from, if it does."""
    if job.source is None:
        return None
    what = job.source.target if isinstance(job.source, Returning) else getattr(job.source, "what", None)
    return what if isinstance(what, OutsideCause) else None


def _outside_lines(rng: random.Random, cause: OutsideCause) -> list[Row]:
    check, result = cause.check
    lines = [{"finding": cause.finding, "cause": cause.cause, "action": cause.action}]
    if rng.random() < 0.6:
        lines.insert(0, {"check": check, "check_result": result, "action": "inspect"})
    return lines


def median_minutes(job: Job) -> float:
    """Planted median of the visit that fixes it."""
    course = job.course
    if not course.works and not course.corrects:
        return 18.0  # a hose seated again
    return course.fix.median_min + 10.0 * (len(course.works) + course.corrects - 1)


def _missing_share(job: Job) -> float:
    target = job.source.fault if isinstance(job.source, Ageing) else getattr(job.source, "target", None)
    return getattr(target, "missing", 0.1)


def _wait_for_part(rng: random.Random, diary: Diary, job: Job, work: Work) -> None:
    """A first visit that finds the fault and waits for the part: the same job, another visit."""
    part = PART[work.part_no]
    is_ordered = rng.random() < min(0.9, part.lead_days / 9)
    status = "ordered" if is_ordered else "needed not on van"
    lines = [
        wording.work_line(work, useless=False)
        | _part_line(rng, work, job.reported, status)
        | {"action": "inspect"}
    ]
    visit = diary.visit("return booked", planted.DIAGNOSIS_MEDIAN_MIN, lines)
    if visit:
        visit.second_visit_reason = "part on order" if is_ordered else "part not on van"
    diary.wait(log_normal(rng, part.lead_days + 1.0 if is_ordered else 1.5, 0.4))


def _first_visits(rng: random.Random, diary: Diary, job: Job) -> None:
    """Visits before the one that fixes it, where there are any."""
    replaced = [work for work in job.course.works if work.action == "replace"]
    if job.symptom in SAFETY_SYMPTOMS:
        lines = [{"finding": "made safe and isolated", "action": "make safe"}]
        diary.visit("made safe", planted.DIAGNOSIS_MEDIAN_MIN, lines)
        diary.wait(1.0)
    elif replaced and rng.random() < _missing_share(job):
        _wait_for_part(rng, diary, job, replaced[0])
    elif replaced and rng.random() < PART_FAULTY_NEW:
        lines = [
            wording.work_line(replaced[0], useless=False)
            | _part_line(rng, replaced[0], job.reported, "faulty new")
        ]
        visit = diary.visit("return booked", planted.DIAGNOSIS_MEDIAN_MIN, lines)
        if visit:
            visit.second_visit_reason = "faulty new part"
        diary.wait(log_normal(rng, 4.0, 0.4))
    elif rng.random() < ONLY_TEMPORARY:
        visit = diary.visit(
            "temporary",
            planted.DIAGNOSIS_MEDIAN_MIN,
            [{"finding": "kept going for now", "action": "inspect"}],
        )
        if visit:
            visit.second_visit_reason = "ran out of time"
        diary.wait(2.0)


def _fixing_visits(rng: random.Random, diary: Diary, job: Job) -> None:
    _first_visits(rng, diary, job)
    lines = work_lines(rng, job, diary.free_from)
    if job.course.works and rng.random() < TAKEN_OUT_AGAIN:
        board = {"dishwasher": "CB-9001", "washer": "CB-9002", "dryer": "TC-2230"}.get(job.machine.unit_type)
        if board and board not in {work.part_no for work in job.course.works}:
            lines.insert(
                0,
                _part_line(rng, Work(board, "replace"), job.reported, "taken out again")
                | {"action": "replace"},
            )
    diary.visit("fixed", median_minutes(job), lines)


ENDING_LINES: dict[str, Row] = {
    "quote declined": {"action": "advise"},
    "beyond economic repair": {"action": "advise"},
    "referred": {"finding": "sealed system short of refrigerant", "mechanism": "leaking", "action": "refer"},
    "made safe": {"finding": "made safe and isolated", "action": "make safe"},
}


def make_visits(rng: random.Random, job: Job) -> None:
    """
    Make up the visits of a job from its course; the job is left open when the log ends first.

    Parameters
    ----------
    rng : random.Random
        Stream of the machine.
    job : Job
        With its source, course and symptom; its visits are added.
    """
    diary, kind = Diary(rng, job), job.course.kind
    if kind == "cancelled":
        job.visits.append(
            Visit("", "cancelled", booked=_on_the_half_hour(slot(rng, diary.free_from)), lines=[{}])
        )
        return
    if kind == "no access" or rng.random() < NOBODY_IN:
        visit = diary.visit("no access", None, [{}])
        if kind == "no access":
            return
        if visit:
            visit.second_visit_reason = "no access"
        diary.wait(3.0)
    if kind == "fixed":
        _fixing_visits(rng, diary, job)
    elif kind == "no fault found":
        part_no = job.source.fault.part_no if isinstance(job.source, Ageing) else ""
        lines = [wording.good_check(part_no) | {"finding": "no fault found", "mechanism": "none found"}]
        diary.visit(kind, planted.DIAGNOSIS_MEDIAN_MIN, lines)
    else:
        diary.visit(kind, planted.DIAGNOSIS_MEDIAN_MIN, [_ending_line(job, kind)])


def _ending_line(job: Job, kind: str) -> Row:
    line = dict(ENDING_LINES[kind])
    fault = job.source.fault if isinstance(job.source, Ageing) else None
    if kind in {"quote declined", "beyond economic repair"} and fault is not None:
        mode = fault.modes[0]
        line |= {"finding": mode.finding, "mechanism": mode.mechanism, "part_no": fitted_number(fault.part_no, job.reported),
                 "part_name": PART[fault.part_no].name}  # fmt: skip
    return line
