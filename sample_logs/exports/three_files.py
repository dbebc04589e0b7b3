"""
`diary.csv`, `invoices.csv`, `parts_bills.csv`: what a firm keeps in three places.

The diary has one row per visit and gives each job the number that its invoice will have. The bills of parts say what was
fitted. Where the number is missing on an invoice or a bill, customer and day say which visit it belongs to. Nothing says
what was cleaned or freed: of works on parts only replacements are told.
"""

from __future__ import annotations

import csv
import random
from collections import Counter
from decimal import Decimal
from pathlib import Path

from sample_logs.exports import words
from sample_logs.exports.people import person
from sample_logs.exports.visits import AtVisit, Line, visits_of
from sample_logs.exports.written import Planted, slashed_day, with_comma, without
from sample_logs.jobs import Row

DIARY, INVOICES, BILLS = "diary.csv", "invoices.csv", "parts_bills.csv"
LAYOUTS = ("firm-diary", "firm-invoices", "firm-parts-bills")
_OF_WORK = frozenset({"part_no", "part_name", "part_status", "quantity", "part_cost", "action"})
# What none of the three ever says.
NEVER_HAD = frozenset({
    "visit_no", "return_of", "return_reason", "unit_id", "model", "serial", "made_on", "installed_on", "age_years", "fitting",
    "postcode", "started_at", "hands_on_min", "travel_min", "fault_code", "check", "check_result", "reading", "check_min", "finding",
    "mechanism", "cause", "part_source", "callout_charge", "currency", "payer", "second_visit_reason",
    "installation_looked_at", "advised_not_done", "test_run", "leak_check", "safety_test", "note",
})  # fmt: skip
NUMBER_MISSING = 0.1
DAYS = ("reported_at", "booked_for", "finished_at")  # written without a time of day


def write(rows: list[Row], folder: Path) -> Planted:
    """Write the three files; as in `spreadsheet.write`."""
    rng, visits = random.Random("three files"), visits_of(rows)
    days = Counter(_day_of(visit) for visit in visits)
    jobs: dict[str, list[AtVisit]] = {}
    for visit in visits:
        jobs.setdefault(visit.fields["job_id"], []).append(visit)
    numbers = {job_id: f"R{10001 + place}" for place, job_id in enumerate(jobs)}
    diary = [_diary_row(rng, visit, numbers) for visit in visits]
    invoices = [
        _invoice(rng, of_job, numbers, days) for of_job in jobs.values() if of_job[-1].fields["charge"]
    ]
    fitted = [(visit, line) for visit in visits for line in visit.lines if _is_fitted(line)]
    bills = [_bill(rng, visit, line, numbers, days) for visit, line in fitted]
    files = {DIARY: diary, INVOICES: invoices, BILLS: bills}
    for name, written in files.items():
        _save(written, folder / name)
    return Planted(
        rows={name: len(written) for name, written in files.items()}, clean=[_clean(row) for row in rows]
    )


def _is_fitted(line: Line) -> bool:
    return line.row["action"] == "replace" and line.row["part_status"] == "fitted"


def _clean(row: Row) -> Row:
    row = without(row, NEVER_HAD)
    is_told = row["action"] == "replace" and row["part_status"] == "fitted"
    return (row if is_told else without(row, _OF_WORK)) | {name: row[name][:10] for name in DAYS}


def _day_of(visit: AtVisit) -> tuple[str, str]:
    return visit.fields["site_id"], visit.fields["finished_at"][:10]


def _number(
    rng: random.Random, visit: AtVisit, numbers: dict[str, str], days: Counter[tuple[str, str]]
) -> str:
    """Number of the job; forgotten here and there, where customer and day tell it."""
    is_told_by_day = days[_day_of(visit)] == 1 and bool(visit.fields["finished_at"])
    is_missing = rng.random() < NUMBER_MISSING and is_told_by_day
    return "" if is_missing else numbers[visit.fields["job_id"]]


def _diary_row(rng: random.Random, visit: AtVisit, numbers: dict[str, str]) -> Row:
    fields = visit.fields
    return {
        "Date": slashed_day(fields["booked_for"]),
        "Done on": slashed_day(fields["finished_at"]),
        "Called on": slashed_day(fields["reported_at"]),
        "For": fields["job_kind"],
        "Customer": person(fields["site_id"]).name,
        "Kind of customer": fields["site_kind"],
        "Machine": words.kind(rng, fields["unit_type"]),
        "Make": fields["make"],
        "Complaint": words.symptom(rng, visit.first("symptom")),
        "Technician": fields["technician"],
        "Outcome": words.outcome(rng, fields["outcome"]),
        "Invoice no": numbers[fields["job_id"]],
    }


def _invoice(
    rng: random.Random, visits: list[AtVisit], numbers: dict[str, str], days: Counter[tuple[str, str]]
) -> Row:
    """One invoice for all visits of a job, dated on the last."""
    last = visits[-1]
    total = {
        name: str(sum(Decimal(visit.fields[name] or "0") for visit in visits))
        for name in ("charge", "labour_charge", "part_charge")
    }
    return {
        "Invoice": _number(rng, last, numbers, days),
        "Customer name": person(last.fields["site_id"]).name,
        "Day of visit": slashed_day(last.fields["finished_at"]),
        "Work, net": with_comma(total["labour_charge"]),
        "Parts, net": with_comma(total["part_charge"]),
        "Total, net": with_comma(total["charge"]),
    }


def _bill(
    rng: random.Random, visit: AtVisit, line: Line, numbers: dict[str, str], days: Counter[tuple[str, str]]
) -> Row:
    row = line.row
    return {
        "For invoice": _number(rng, visit, numbers, days),
        "For customer": person(row["site_id"]).name,
        "Fitted on": slashed_day(row["finished_at"]),
        "Article": row["part_no"],
        "Description": row["part_name"],
        "Pieces": row["quantity"],
        "Each": with_comma(row["part_cost"]),
    }


def _save(rows: list[Row], path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, tuple(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
