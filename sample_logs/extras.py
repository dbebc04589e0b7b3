"""Jobs that are no faults: planned service, installations, recall work, quotes."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from sample_logs import planted
from sample_logs.jobs import Job, Row, Visit, log_normal, slot, to_minute
from sample_logs.life import Life
from sample_logs.scenario import DAYS_OF_LOG, DAYS_OF_YEAR, PART
from sample_logs.visits import choose_technician

SERVICED = {
    "glass washer": 0.4,
    "ice maker": 0.45,
    "coffee machine": 0.35,
}  # times per year, at sites with a plan
SERVICE_WORK: dict[str, tuple[Row, ...]] = {
    "glass washer": (
        {"part_no": "RJ-1020", "part_name": "rinse jets", "action": "clean"},
        {"action": "descale"},
    ),
    "ice maker": (
        {"part_no": "LP-2260", "part_name": "level probe", "action": "clean"},
        {"action": "descale"},
    ),
    "coffee machine": ({"action": "descale"}, {"action": "inspect", "finding": "group seal serviceable"}),
}
INSTALLED_BY_US = 0.18
QUOTES = 14
RECALL_MODEL = "ZD 200"
RECALL_PART = "DS-4408"
RECALL_WEEKS = ("ZM1801", "ZM2026")  # serials from and to, made weeks
RECALL_JOBS = 14


@dataclass(frozen=True)
class Errand:
    """A job of one visit that mends no fault."""

    kind: str
    median_min: float
    outcome: str
    lines: tuple[Row, ...]


SERVICES = {
    unit_type: Errand("planned service", 40, "fixed", lines) for unit_type, lines in SERVICE_WORK.items()
}
INSTALLATION = Errand("installation", 50, "fixed", ({"finding": "installed and tried", "action": "test"},))
QUOTE = Errand("quote only", 20, "advised", ({"finding": "looked at for a quote", "action": "inspect"},))
RECALL = Errand("recall work", 25, "fixed", (
    {"part_no": RECALL_PART, "part_name": PART[RECALL_PART].name, "part_status": "fitted", "part_source": "genuine",
     "quantity": "1", "part_cost": "0.00", "action": "replace", "finding": "recall notice"},
))  # fmt: skip


def _visit(rng: random.Random, life: Life, when: float, errand: Errand) -> Visit | None:
    start = slot(rng, when)
    if start > DAYS_OF_LOG - 0.5:
        return None
    booked = math.floor(start * 48) / 48
    visit = Visit(choose_technician(rng, life.machine, start), errand.outcome, booked=booked, start=start)
    slow = planted.SLOW_FACTOR if visit.technician == planted.SLOW_TECHNICIAN else 1.0
    visit.minutes = max(5, round(log_normal(rng, errand.median_min * slow, 0.3)))
    visit.travel = max(4, round(log_normal(rng, 19, 0.45)))
    visit.finish = to_minute(start + visit.minutes / 1440)
    visit.lines = [dict(line) for line in errand.lines]
    return visit


def _is_free(life: Life, start: float, finish: float) -> bool:
    """Whether the machine is there, and nobody is at work on it around that time."""
    machine = life.machine
    if start < machine.entered or (machine.ended is not None and finish > machine.ended - 1):
        return False
    return all(
        job.finished is not None and (job.reported > finish + 3 or job.finished < start - 3)
        for job in life.jobs
        if job.kind in {"fault", "workshop"}
    )


def _add(rng: random.Random, life: Life, day: float, errand: Errand) -> None:
    """Add a job of one visit, booked some days before, unless the machine is not to be had."""
    reported = to_minute(day - 4 + rng.random() * 0.3 + 0.35)
    visit = _visit(rng, life, day, errand)
    if visit is None or reported < 0 or not _is_free(life, reported, visit.finish):
        return
    life.jobs.append(Job(life.machine, errand.kind, reported, visits=[visit]))


def _services(rng: random.Random, life: Life) -> None:
    per_year = SERVICED.get(life.machine.unit_type, 0.0)
    if not per_year or not life.machine.has_plan:
        return
    day = life.machine.entered + rng.random() * DAYS_OF_YEAR / per_year
    while day < DAYS_OF_LOG:
        _add(rng, life, math.floor(day), SERVICES[life.machine.unit_type])
        day += DAYS_OF_YEAR / per_year * (0.9 + 0.2 * rng.random())


def _installation(rng: random.Random, life: Life) -> None:
    if life.machine.installed < 6 or rng.random() > INSTALLED_BY_US:
        return
    day = life.machine.installed
    visit = _visit(rng, life, day, INSTALLATION)
    if visit is not None and all(visit.finish < job.reported for job in life.jobs):
        life.jobs.insert(0, Job(life.machine, "installation", to_minute(day - 5.4), visits=[visit]))


def is_recalled(life: Life) -> bool:
    """Whether the notice of the door switch names the machine."""
    week = life.machine.serial.split("-")[0]
    return life.machine.model.model == RECALL_MODEL and RECALL_WEEKS[0] <= week <= RECALL_WEEKS[1]


def _recalls(rng: random.Random, lives: list[Life]) -> None:
    for life in [life for life in lives if is_recalled(life)][:RECALL_JOBS]:
        _add(rng, life, math.floor(620 + rng.random() * 200), RECALL)


def add_extras(seed: int, lives: list[Life]) -> None:
    """Add the jobs that are no faults to the lives of the listed machines."""
    for life in (life for life in lives if life.machine.is_listed):
        rng = random.Random(f"{seed}:extras:{life.machine.number}")
        _installation(rng, life)
        _services(rng, life)
    rng = random.Random(f"{seed}:extras")
    _recalls(rng, lives)
    listed = [life for life in lives if life.machine.is_listed]
    for _ in range(QUOTES * len(listed) // 2000):
        life = listed[int(rng.random() * len(listed))]
        day = math.floor(20 + rng.random() * (DAYS_OF_LOG - 40))
        _add(rng, life, day, QUOTE)
