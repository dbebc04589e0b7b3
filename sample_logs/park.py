"""The customers and machines under care, and a few machines that are on no list."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta

from sample_logs import planted
from sample_logs.faults import OUTSIDE_CAUSES
from sample_logs.scenario import DAYS_OF_LOG, DAYS_OF_YEAR, DISTRICTS, KINDS_OF_SITE, LOG_START, MODELS, Model

# Share of all machines in each type.
TYPE_SHARES = {
    "dishwasher": 0.285,
    "washer": 0.27,
    "dryer": 0.14,
    "fridge-freezer": 0.115,
    "glass washer": 0.07,
    "ice maker": 0.05,
    "coffee machine": 0.07,
}
HOUSEHOLD_TYPES = ("dishwasher", "washer", "dryer", "fridge-freezer")
# How many machines of a site: smallest and largest.
SIZES = {"household": (1, 3), "letting agent": (4, 8), "laundry": (5, 10), "café": (1, 4), "other": (1, 3)}
# Share of the household types that stand elsewhere.
ELSEWHERE = {"letting agent": 0.08, "laundry": 0.06, "café": 0.03, "other": 0.05}
WALK_INS = 45


@dataclass
class Machine:
    """One machine. Times are days since the start of the log; before it they are negative."""

    number: int
    model: Model
    site_no: int
    site_kind: str
    district: str
    installed: float
    made_on: date
    serial: str
    unit_id: str
    is_listed: bool = True
    has_plan: bool = False
    in_bad_lot: bool = False
    flaws: set[int] = field(default_factory=set)  # indexes into OUTSIDE_CAUSES
    ended: float | None = None  # the day it left, in truth
    removed_on: float | None = None  # the day it left, as the machine list says

    @property
    def unit_type(self) -> str:
        """Kind of machine."""
        return self.model.unit_type

    @property
    def entered(self) -> float:
        """Day on which the machine came under care, not before the log starts."""
        return max(0.0, self.installed)

    def age_years(self, day: float) -> float:
        """Age in years on a day of the log."""
        return (day - self.installed) / DAYS_OF_YEAR


def _pick(rng: random.Random, shares: dict[str, float]) -> str:
    draw = rng.random() * sum(shares.values())
    for name, share in shares.items():
        draw -= share
        if draw < 0:
            return name
    return name


def _model(rng: random.Random, unit_type: str) -> Model:
    models = {model.model: model for model in MODELS if model.unit_type == unit_type}
    return models[_pick(rng, {name: model.share for name, model in models.items()})]


def _installed(rng: random.Random, unit_type: str) -> float:
    """Day of installation: up to 14 years (catering machines 9) before the log, 13 in 100 during it."""
    if rng.random() < 0.13:
        return float(int(rng.random() * (DAYS_OF_LOG - 60)))
    oldest = 14.0 if unit_type in HOUSEHOLD_TYPES else 9.0
    return -float(int(rng.random() ** 1.3 * oldest * DAYS_OF_YEAR)) - 1.0


def _made_before(rng: random.Random, installed: float) -> date:
    """The Monday of the week in which the machine was made, 3 to 30 weeks before it was installed."""
    day = LOG_START.date() + timedelta(days=installed - 21 - rng.random() * 190)
    return day - timedelta(days=day.weekday())


def _serial(rng: random.Random, model: Model, made_on: date, number: int) -> str:
    year, week, _ = made_on.isocalendar()
    return f"{model.prefix}{year % 100:02d}{week:02d}-{number * 7 + int(rng.random() * 7):06d}"


def make_machine(rng: random.Random, unit_type: str, site: tuple[int, str, str], number: int) -> Machine:
    """Make one machine for a site, given as (number, kind, district)."""
    model = _model(rng, unit_type)
    installed = _installed(rng, unit_type)
    made_on = _made_before(rng, installed)
    machine = Machine(
        number=number,
        model=model,
        site_no=site[0],
        site_kind=site[1],
        district=site[2],
        installed=installed,
        made_on=made_on,
        serial=_serial(rng, model, made_on, number),
        unit_id=f"MR-{number:05d}",
        has_plan=site[0] % 5 == 0 or site[1] in {"café", "laundry"},
    )
    for index, cause in enumerate(OUTSIDE_CAUSES):
        if cause.unit_type == unit_type and rng.random() < cause.share_of_machines:
            machine.flaws.add(index)
    return machine


def _site_kind(rng: random.Random, unit_type: str) -> str:
    if unit_type not in HOUSEHOLD_TYPES:
        return "café" if rng.random() < 0.9 else "other"
    shares = {kind: share for kind, share in ELSEWHERE.items() if unit_type in KINDS_OF_SITE[kind]}
    return _pick(rng, {**shares, "household": 1.0 - sum(shares.values())})


class _Sites:
    """Fills sites one machine at a time; a household has one machine of a type, rarely two."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.count = 0
        self.open: dict[str, list[list]] = {kind: [] for kind in SIZES}

    def place(self, kind: str, unit_type: str) -> tuple[int, str, str]:
        """Find a site with room, or open another one."""
        for site in self.open[kind][-12:]:
            twice = unit_type in site[2]
            if kind == "household" and twice and self.rng.random() > 0.03:
                continue
            return self._take(kind, site, unit_type)
        self.count += 1
        low, high = SIZES[kind]
        district = DISTRICTS[int(self.rng.random() * len(DISTRICTS))]
        site = [self.count, district, [], low + int(self.rng.random() * (high - low + 1))]
        self.open[kind].append(site)
        return self._take(kind, site, unit_type)

    def _take(self, kind: str, site: list, unit_type: str) -> tuple[int, str, str]:
        site[2].append(unit_type)
        if len(site[2]) >= site[3]:
            self.open[kind].remove(site)
        return site[0], kind, site[1]


def is_bad_lot(model: Model, made_on: date) -> bool:
    """Whether a machine of a model, made in a week, belongs to the bad lot."""
    year, week, _ = made_on.isocalendar()
    return (
        model.model == planted.BAD_LOT_MODEL
        and planted.BAD_LOT_WEEKS[0] <= (year, week) <= planted.BAD_LOT_WEEKS[1]
    )


def _plant_bad_lot(machines: list[Machine], rng: random.Random, wanted: int) -> None:
    """Move some machines of one model into the made weeks of the bad lot."""
    (year, first), (_, last) = planted.BAD_LOT_WEEKS
    old_enough = [m for m in machines if m.model.model == planted.BAD_LOT_MODEL and m.installed < 0]
    for machine in old_enough[:wanted]:
        week = first + int(rng.random() * (last - first + 1))
        machine.made_on = date.fromisocalendar(year, week, 1)
        sold = machine.made_on + timedelta(days=30 + int(rng.random() * 150))
        machine.installed = float((sold - LOG_START.date()).days)
        machine.serial = _serial(rng, machine.model, machine.made_on, machine.number)
    for machine in machines:
        machine.in_bad_lot = is_bad_lot(machine.model, machine.made_on)


def make_park(seed: int, machines: int = 2000) -> list[Machine]:
    """
    Make the machines under care and a few that are on no list.

    Parameters
    ----------
    seed : int
        Same seed, same park.
    machines : int
        Number of machines on the list.

    Returns
    -------
    list of Machine
        The listed ones first, then the walk-ins.
    """
    rng = random.Random(f"{seed}:park")
    sites = _Sites(rng)
    park: list[Machine] = []
    for number in range(1, machines + 1):
        unit_type = _pick(rng, TYPE_SHARES)
        site = sites.place(_site_kind(rng, unit_type), unit_type)
        park.append(make_machine(rng, unit_type, site, number))
    _plant_bad_lot(park, rng, max(1, planted.BAD_LOT_MACHINES * machines // 2000))
    for number in range(1, WALK_INS * machines // 2000 + 1):
        unit_type = HOUSEHOLD_TYPES[number % len(HOUSEHOLD_TYPES)]
        site = (sites.count + number, "household", DISTRICTS[number % len(DISTRICTS)])
        machine = make_machine(rng, unit_type, site, machines + number)
        machine.is_listed, machine.unit_id, machine.has_plan = False, "", False
        park.append(machine)
    return park
