"""The lists beside the log: machines under care, parts, stock, notices."""

from __future__ import annotations

import random

from sample_logs.extras import RECALL_WEEKS
from sample_logs.jobs import Row, moment
from sample_logs.park import Machine
from sample_logs.scenario import PARTS, TECHNICIANS


def machine_rows(machines: list[Machine]) -> list[Row]:
    """One row per machine under care; walk-ins are on no list."""
    return [
        {
            "unit_id": machine.unit_id,
            "unit_type": machine.unit_type,
            "make": machine.model.make,
            "model": machine.model.model,
            "serial": machine.serial,
            "installed_on": moment(machine.installed).date().isoformat(),
            "removed_on": "" if machine.removed_on is None else moment(machine.removed_on).date().isoformat(),
            "site_id": f"S-{machine.site_no:04d}",
        }
        for machine in machines
        if machine.is_listed
    ]


def part_rows() -> list[Row]:
    """One row per part number."""
    return [
        {
            "part_no": part.part_no,
            "part_name": part.name,
            "fits": "|".join(part.fits),
            "unit_cost": f"{part.unit_cost:.2f}",
            "lead_days": str(part.lead_days),
            "replaced_by": part.replaced_by,
            "volume_l": f"{part.volume_l:.1f}",
            "safety_part": "yes" if part.is_safety_part else "no",
        }
        for part in PARTS
    ]


def stock_rows(seed: int) -> list[Row]:
    """What lies in the stores and in each van; a few pieces have lain for years."""
    rng = random.Random(f"{seed}:stock")
    rows = []
    for part in PARTS:
        bought = 1090 - int(rng.random() ** 2 * 1400)
        rows.append(_stock("stores", part.part_no, 1 + int(rng.random() * 6), bought))
    carried = [part for part in PARTS if not part.replaced_by and part.unit_cost < 60]
    for code in TECHNICIANS:
        chosen = [part for part in carried if rng.random() < 0.6]
        rows += [
            _stock(f"van {code}", p.part_no, 1 + int(rng.random() * 2), 1080 - int(rng.random() * 300))
            for p in chosen
        ]
    return rows


def _stock(place: str, part_no: str, quantity: int, bought: int) -> Row:
    bought_on = moment(bought).date().isoformat()
    return {"place": place, "part_no": part_no, "quantity": str(quantity), "bought_on": bought_on}


def notice_rows() -> list[Row]:
    """Two notices that the firm keeps, both invented."""
    return [
        {
            "make": "Zemberly",
            "model": "ZD 200",
            "serial_from": f"{RECALL_WEEKS[0]}-000000",
            "serial_to": f"{RECALL_WEEKS[1]}-999999",
            "text": "Door switch may stay closed with the door open: unplug, do not use, have the switch replaced.",
            "reference": "ZN-24-07",
            "dated_on": "2024-10-14",
        },
        {
            "make": "Quillfen",
            "model": "QR 2",
            "serial_from": "QR1540-000000",
            "serial_to": "QR1612-999999",
            "text": "Start relay may overheat: switch off and have it looked at.",
            "reference": "QN-23-02",
            "dated_on": "2023-06-05",
        },
    ]
