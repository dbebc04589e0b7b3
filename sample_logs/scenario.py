"""The invented firm: its makers, models, parts, districts, technicians and kinds of customer.

Every name here is made up for this sample. None is meant to be, or is known to be, a real maker, model, part
number, place or person.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

FIRM = "Marlbeck Row Machine Care"
LOG_START = datetime(2023, 3, 1)  # noqa: DTZ001  the log holds local wall-clock times
LOG_END = datetime(2026, 3, 1)  # noqa: DTZ001
LAST_DAY = date(2026, 2, 28)
DAYS_OF_LOG = float((LOG_END - LOG_START).days)
DAYS_OF_YEAR = 365.25
CURRENCY = "EUR"
SEED = 20230301


@dataclass(frozen=True)
class Model:
    """One model: how common it is within its type, and where it fails more or less than the type."""

    unit_type: str
    make: str
    model: str
    prefix: str
    share: float
    effects: dict[str, float] = field(default_factory=dict)  # part_no -> factor on the hazard


@dataclass(frozen=True)
class Part:
    """One line of the parts list. `fits` are the machine types in which the part is fitted."""

    part_no: str
    name: str
    fits: tuple[str, ...]
    unit_cost: float
    lead_days: int
    volume_l: float
    replaced_by: str = ""
    is_safety_part: bool = False


MODELS: tuple[Model, ...] = (
    Model("dishwasher", "Quillfen", "Q40", "QF", 0.40),
    Model("dishwasher", "Quillfen", "Q60", "QF", 0.25, {"FM-2041": 1.8}),
    Model("dishwasher", "Tarnquell", "TD 510", "TQ", 0.35, {"CP-5510": 1.5}),
    Model("washer", "Hollenwick", "HW 7", "HW", 0.40, {"DP-1107": 1.6}),
    Model("washer", "Hollenwick", "HW 9", "HW", 0.25),
    Model("washer", "Tarnquell", "TW 620", "TQ", 0.35, {"BR-8810": 1.5, "DL-4420": 0.6}),
    Model("dryer", "Hollenwick", "HD 7", "HD", 0.55),
    Model("dryer", "Zemberly", "ZD 200", "ZM", 0.45, {"RO-5140": 1.7}),
    Model("fridge-freezer", "Zemberly", "ZF 310", "ZM", 0.60),
    Model("fridge-freezer", "Quillfen", "QR 2", "QR", 0.40, {"FN-4820": 2.0}),
    Model("glass washer", "Ostrumel", "G 400", "OS", 0.60),
    Model("glass washer", "Ostrumel", "G 500", "OS", 0.40, {"RP-5530": 1.7}),
    Model("ice maker", "Ostrumel", "Ice 35", "OI", 0.55),
    Model("ice maker", "Zemberly", "ZI 60", "ZI", 0.45, {"LP-2260": 0.6}),
    Model("coffee machine", "Ostrumel", "Crema Duo", "OC", 0.55),
    Model("coffee machine", "Tarnquell", "TC 2G", "TC", 0.45, {"FM-2048": 1.5}),
)

PARTS: tuple[Part, ...] = (
    Part("FM-2041", "flow meter", ("dishwasher",), 18.50, 3, 0.2),
    Part("DP-1107", "drain pump", ("dishwasher", "washer"), 32.00, 2, 1.5),
    Part("CP-5510", "circulation pump", ("dishwasher",), 96.00, 5, 3.0),
    Part("HE-7203", "heater", ("dishwasher",), 44.00, 4, 1.0),
    Part("IV-3302", "inlet valve", ("dishwasher", "washer", "glass washer"), 21.00, 2, 0.5),
    Part("DS-6120", "door seal", ("dishwasher",), 27.00, 4, 1.2),
    Part("CB-9001", "control board", ("dishwasher",), 118.00, 7, 1.0),
    Part("DL-4415", "door lock", ("dishwasher",), 24.00, 3, 0.4, is_safety_part=True),
    Part("FI-1001", "filter", ("dishwasher",), 16.00, 3, 1.5),
    Part("BR-8810", "carbon brushes", ("washer",), 14.00, 2, 0.1),
    Part("DL-4420", "door lock", ("washer",), 26.00, 2, 0.4, is_safety_part=True),
    Part("BE-7730", "drum bearings", ("washer",), 58.00, 6, 2.0),
    Part("HE-7210", "heater", ("washer",), 33.00, 3, 0.8),
    Part("SA-5125", "shock absorbers", ("washer",), 29.00, 4, 2.0),
    Part("CB-9002", "control board", ("washer",), 132.00, 7, 1.0),
    Part("BT-3315", "drum belt", ("dryer",), 15.00, 3, 0.3),
    Part("TC-2230", "thermal cut-out", ("dryer",), 12.00, 2, 0.1, is_safety_part=True),
    Part("HE-7305", "heater", ("dryer",), 52.00, 4, 2.0),
    Part("RO-5140", "drum rollers", ("dryer",), 23.00, 4, 0.6),
    Part("DS-4408", "door switch", ("dryer",), 11.00, 3, 0.1, is_safety_part=True),
    Part("DG-6210", "door gasket", ("fridge-freezer",), 49.00, 10, 6.0),
    Part("FN-4820", "fan motor", ("fridge-freezer",), 36.00, 5, 0.8),
    Part("DF-7410", "defrost heater", ("fridge-freezer",), 31.00, 5, 0.6),
    Part("TS-2215", "temperature sensor", ("fridge-freezer",), 13.00, 3, 0.1),
    Part("SR-1120", "start relay", ("fridge-freezer",), 17.00, 3, 0.1),
    Part("RP-5530", "rinse pump", ("glass washer",), 74.00, 4, 2.0),
    Part("WP-5520", "wash pump", ("glass washer",), 148.00, 6, 4.0),
    Part("DT-8105", "dosing tube", ("glass washer",), 6.50, 2, 0.1),
    Part("HE-7220", "heater", ("glass washer",), 56.00, 4, 1.0),
    Part("RJ-1020", "rinse jets", ("glass washer",), 22.00, 4, 0.4),
    Part("DP-1110", "drain pump", ("glass washer",), 47.00, 4, 1.5),
    Part("IV-3306", "water inlet valve", ("ice maker",), 25.00, 6, 0.5, replaced_by="IV-3310"),
    Part("IV-3310", "water inlet valve", ("ice maker",), 28.00, 4, 0.5),
    Part("LP-2260", "level probe", ("ice maker",), 34.00, 5, 0.2),
    Part("PP-5560", "water pump", ("ice maker",), 63.00, 5, 1.5),
    Part("FN-4830", "fan motor", ("ice maker",), 41.00, 6, 1.2),
    Part("CB-9006", "control board", ("ice maker",), 156.00, 8, 1.0),
    Part("GS-6330", "group seal", ("coffee machine",), 4.80, 2, 0.1),
    Part("BP-5570", "brew pump", ("coffee machine",), 82.00, 5, 2.0),
    Part("FM-2048", "flow meter", ("coffee machine",), 26.00, 4, 0.2),
    Part("SV-3340", "solenoid valve", ("coffee machine",), 38.00, 4, 0.4),
    Part("HE-7240", "heater", ("coffee machine",), 67.00, 6, 1.0),
    Part("GB-8850", "grinder burrs", ("coffee machine",), 44.00, 4, 0.5),
)
PART: dict[str, Part] = {part.part_no: part for part in PARTS}

# The old number was fitted until this day, the new one since.
SUPERSEDED_ON = date(2024, 9, 1)

DISTRICTS = ("QXA", "QXB", "QXC", "QXD", "QXE", "QXF")

# Staff codes, their home districts, and their share of the work there.
TECHNICIANS: dict[str, tuple[str, ...]] = {
    "K1": ("QXA", "QXB"),
    "K2": ("QXA", "QXC"),
    "K3": ("QXB", "QXD"),
    "K4": ("QXC", "QXD"),
    "K5": ("QXE", "QXF"),
    "K6": ("QXE", "QXA"),
    "K7": ("QXF", "QXB"),
    "K8": ("QXC", "QXF"),
}

# Who has how many machines of which kind: share of customers is set in park.py by how many are needed.
KINDS_OF_SITE: dict[str, tuple[str, ...]] = {
    "household": ("dishwasher", "washer", "dryer", "fridge-freezer"),
    "letting agent": ("washer", "dishwasher", "fridge-freezer", "washer", "dryer"),
    "laundry": ("washer", "dryer"),
    "café": ("glass washer", "coffee machine", "ice maker", "dishwasher"),
    "other": ("dishwasher", "coffee machine", "fridge-freezer"),
}
