"""The words that the firm's technicians use: checks, findings, causes, notes."""

from __future__ import annotations

from sample_logs.outcomes import Work
from sample_logs.scenario import PART

# Part name -> what is checked, and what is seen when the part is in order.
CHECKS: dict[str, tuple[str, str, str]] = {
    "flow meter": ("turn the wheel by hand", "turns freely", ""),
    "drain pump": ("look into the pump", "clear", ""),
    "heater": ("resistance of the heater", "in range", "24 Ω"),
    "thermal cut-out": ("continuity of the cut-out", "in range", "0.2 Ω"),
    "inlet valve": ("resistance of the valve coil", "in range", "3.9 kΩ"),
    "water inlet valve": ("resistance of the valve coil", "in range", "3.8 kΩ"),
    "defrost heater": ("resistance of the heater", "in range", "310 Ω"),
    "temperature sensor": ("resistance of the sensor at 0 °C", "in range", "5.0 kΩ"),
    "door lock": ("continuity of the lock", "in range", "0.3 Ω"),
    "carbon brushes": ("length of the brushes", "in range", "22 mm"),
    "brew pump": ("pressure at the group", "in range", "9 bar"),
}
FAULTY_READING: dict[str, str] = {
    "heater": "open circuit",
    "thermal cut-out": "open circuit",
    "inlet valve": "open circuit",
    "water inlet valve": "open circuit",
    "defrost heater": "open circuit",
    "temperature sensor": "1.1 kΩ",
    "door lock": "open circuit",
    "carbon brushes": "6 mm",
    "brew pump": "3 bar",
}
DEFAULT_CHECK = ("run a short programme", "runs", "")

# Scale comes from the water; what else blocks a part is seldom known.
CAUSE_OF_FINDING = {
    "scaled up": "water",
    "scale and grit": "water",
    "wheel stuck": "water",
    "valve stuck with scale": "water",
}
CAUSE_OF_MECHANISM = {
    "worn": "wear",
    "blocked": "unknown",
    "stuck": "unknown",
    "electrical": "unknown",
    "": "",
}
NOTES = (
    "customer reports it got worse over a few weeks",
    "tested twice, runs without trouble",
    "machine stands level",
    "showed the customer how to clean the filter",
    "hoses are old, advised",
)
ADVISED = (
    "replace the inlet hose",
    "descale once a month",
    "move the machine off the carpet",
    "replace the door seal",
)


def fault_code(make: str, symptom: str, unit_type: str) -> str:
    """Code that the machine shows: made of the make and the symptom, so that one make's code is not another's."""
    if unit_type not in {"dishwasher", "washer", "dryer", "coffee machine"} or symptom in {
        "dead",
        "smell",
        "noisy",
        "leaks",
    }:
        return ""
    number = sum(map(ord, make + symptom)) % 40 + 1
    return f"F{number:02d}" if make < "R" else f"E{number}"


def part_check(work: Work) -> dict[str, str]:
    """Line of the check that shows what is wrong with a part."""
    name = PART[work.part_no].name
    check, _, _ = CHECKS.get(name, DEFAULT_CHECK)
    result = "faulty"
    if name == "flow meter":
        result = "stuck" if work.mechanism == "stuck" else "turns freely"
    elif name == "drain pump":
        result = "debris" if work.mechanism == "blocked" else "worn"
    return {"check": check, "check_result": result, "reading": FAULTY_READING.get(name, ""), "action": "test"}


def good_check(part_no: str) -> dict[str, str]:
    """Line of a check that found the part in order."""
    name = PART[part_no].name if part_no else ""
    check, result, reading = CHECKS.get(name, DEFAULT_CHECK)
    return {"check": check, "check_result": result, "reading": reading, "action": "test"}


def work_line(work: Work, *, useless: bool) -> dict[str, str]:
    """Line of work on a part."""
    return {
        "finding": work.finding,
        "mechanism": "none found" if useless else work.mechanism,
        "cause": CAUSE_OF_FINDING.get(work.finding, CAUSE_OF_MECHANISM[work.mechanism]),
        "part_no": work.part_no,
        "part_name": PART[work.part_no].name,
        "action": work.action,
    }
