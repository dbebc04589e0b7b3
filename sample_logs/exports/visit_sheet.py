"""
`visits.csv`: one row per visit, without job numbers. `visits-1252.csv` is the same text in Windows-1252.

Its habits: semicolons; days as 04/03/2026; customer and kind of machine say which machine it was; all parts of a visit in
one cell; the words of the trade for how it ended. The day of the call stands only with the first visit.
"""

from __future__ import annotations

import csv
import io
import random
from pathlib import Path

from sample_logs.exports import words
from sample_logs.exports.people import person
from sample_logs.exports.visits import AtVisit, visits_of
from sample_logs.exports.written import Planted, slashed_day
from sample_logs.jobs import Row

FILE, FILE_1252 = "visits.csv", "visits-1252.csv"
LAYOUTS = ("visit-sheet",)
# What this sheet never says; days have no time of day, and parts only stand there once they are in.
NEVER_HAD = frozenset({
    "job_id", "job_kind", "visit_no", "return_of", "return_reason", "unit_id", "model", "serial", "made_on", "installed_on",
    "age_years", "fitting", "postcode", "started_at", "travel_min", "fault_code", "check", "check_result", "reading", "check_min",
    "finding", "mechanism", "cause", "part_status", "part_source", "quantity", "part_cost", "charge", "callout_charge",
    "labour_charge", "part_charge", "currency", "payer", "second_visit_reason", "installation_looked_at",
    "advised_not_done", "test_run", "leak_check", "safety_test", "note",
})  # fmt: skip
HEADERS = ("Customer", "Telephone", "Private / trade", "Machine", "Make", "Call taken", "Booked for", "Left on", "Minutes",
           "Engineer", "Complaint", "Part numbers", "Parts", "Work", "Outcome")  # fmt: skip


def write(rows: list[Row], folder: Path) -> Planted:
    """Write both files; as in `spreadsheet.write`."""
    rng, planted = random.Random("visits"), Planted()
    visits = sorted(visits_of(rows), key=lambda visit: visit.fields["booked_for"])
    text = io.StringIO()
    writer = csv.DictWriter(text, HEADERS, delimiter=";", lineterminator="\r\n")
    writer.writeheader()
    for visit in visits:
        writer.writerow(_cells(rng, visit))
        planted.job_ids.append(visit.fields["job_id"])
    planted.rows = dict.fromkeys((FILE, FILE_1252), len(visits))
    (folder / FILE).write_bytes(text.getvalue().encode("utf-8-sig"))
    (folder / FILE_1252).write_bytes(text.getvalue().encode("cp1252"))
    return planted


def _cells(rng: random.Random, visit: AtVisit) -> Row:
    fields = visit.fields
    who = person(fields["site_id"])
    is_first = fields["visit_no"] == "1"
    return {
        "Customer": who.name if rng.random() < 0.8 else who.name.upper(),
        "Telephone": who.telephone if rng.random() < 0.8 else who.telephone.replace(" ", ""),
        "Private / trade": {"household": "private"}.get(fields["site_kind"], fields["site_kind"]),
        "Machine": words.kind(rng, fields["unit_type"]),
        "Make": fields["make"],
        "Call taken": slashed_day(fields["reported_at"]) if is_first else "",
        "Booked for": slashed_day(fields["booked_for"]),
        "Left on": slashed_day(fields["finished_at"]),
        "Minutes": fields["hands_on_min"],
        "Engineer": fields["technician"],
        "Complaint": words.symptom(rng, visit.first("symptom")),
        "Part numbers": " + ".join(line.row["part_no"] for line in visit.worked),
        "Parts": " + ".join(line.row["part_name"] for line in visit.worked),
        "Work": " + ".join(words.ACTIONS.get(line.row["action"], "") for line in visit.told),
        "Outcome": words.outcome(rng, fields["outcome"]),
    }
