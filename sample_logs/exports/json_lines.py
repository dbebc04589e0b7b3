"""
`lines.jsonl`: what a booking system sends out, one job a line, its visits in it, their works in those.

Its habits: keys of its own; numbers, truth values and nulls as such; moments with seconds; nothing is written twice.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from sample_logs.exports.people import person
from sample_logs.exports.visits import AtVisit, Line, visits_of
from sample_logs.exports.written import Planted, repeats, without
from sample_logs.jobs import Row

FILE = "lines.jsonl"
LAYOUTS = ("booking-system",)
# What this system never knows.
NEVER_HAD = frozenset({
    "return_of", "return_reason", "made_on", "age_years", "fitting", "postcode", "booked_for", "technician", "check",
    "check_result", "reading", "check_min", "callout_charge", "labour_charge", "part_charge", "second_visit_reason",
    "installation_looked_at", "advised_not_done", "leak_check", "safety_test", "note",
})  # fmt: skip


def write(rows: list[Row], folder: Path) -> Planted:
    """Write the lines; as in `spreadsheet.write`."""
    jobs: dict[str, list[AtVisit]] = {}
    for visit in visits_of(rows):
        jobs.setdefault(visit.fields["job_id"], []).append(visit)
    with (folder / FILE).open("w", encoding="utf-8", newline="\n") as file:
        for visits in jobs.values():
            file.write(json.dumps(_job(visits), ensure_ascii=False) + "\n")
    told = [line.row for visits in jobs.values() for visit in visits for line in visit.lines]
    clean = [without(row, NEVER_HAD) for row in told]
    return Planted(rows={FILE: len(told)}, repeated=repeats([(*row.values(),) for row in clean]), clean=clean)


def _job(visits: list[AtVisit]) -> dict[str, Any]:
    fields = visits[0].fields
    who = person(fields["site_id"])
    return {
        "ticket": fields["job_id"],
        "category": fields["job_kind"],
        "raised": _moment(fields["reported_at"]),
        "problem": fields["symptom"] or None,
        "displayed_code": fields["fault_code"] or None,
        "client": {
            "client_ref": fields["site_id"],
            "client_name": who.name,
            "mobile": who.telephone,
            "entry": who.way_in,
            "sector": fields["site_kind"],
        },
        "appliance": {
            "tag": fields["unit_id"] or None,
            "appliance_kind": fields["unit_type"],
            "maker": fields["make"],
            "model_name": fields["model"],
            "serial_no": fields["serial"] or None,
            "in_use_since": fields["installed_on"] or None,
        },
        "attendances": [_visit(visit) for visit in visits],
    }


def _visit(visit: AtVisit) -> dict[str, Any]:
    fields = visit.fields
    return {
        "attendance": int(fields["visit_no"]),
        "arrived": _moment(fields["started_at"]),
        "left": _moment(fields["finished_at"]),
        "minutes_at_machine": _number(fields["hands_on_min"]),
        "minutes_on_road": _number(fields["travel_min"]),
        "price": _number(fields["charge"]),
        "currency_code": fields["currency"] or None,
        "billed_to": fields["payer"] or None,
        "ran_after": {"yes": True, "no": False}.get(fields["test_run"]),
        "ended": fields["outcome"],
        "works": [_work(line) for line in visit.lines],
    }


def _work(line: Line) -> dict[str, Any]:
    row = line.row
    return {
        "seen": row["finding"] or None,
        "way_it_failed": row["mechanism"] or None,
        "why_it_failed": row["cause"] or None,
        "item": row["part_no"] or None,
        "item_name": row["part_name"] or None,
        "item_state": row["part_status"] or None,
        "item_origin": row["part_source"] or None,
        "count": _number(row["quantity"]),
        "item_cost": _number(row["part_cost"]),
        "done": row["action"] or None,
    }


def _moment(text: str) -> str | None:
    return f"{text}:00" if text else None


def _number(text: str) -> float | int | None:
    if not text:
        return None
    value = float(text)
    return int(value) if value.is_integer() else value
