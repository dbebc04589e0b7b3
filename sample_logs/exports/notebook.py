"""
`notebook.csv`: a technician's notebook, two columns; one paragraph is the whole record of a visit.

A paragraph opens and ends with whom it was for, the telephone number and the way in: nothing of that may be kept. What
stands between is told under words such as "Complaint:". Visits that nobody went to are not in it, and little room is given to what was not
done to a part.
"""

from __future__ import annotations

import csv
from pathlib import Path

from sample_logs.exports import words
from sample_logs.exports.people import person
from sample_logs.exports.visits import AtVisit, Line, visits_of
from sample_logs.exports.written import NO_KIND, UNREADABLE_DATE, Planted, dotted, without
from sample_logs.jobs import Row

FILE = "notebook.csv"
LAYOUTS = ("notebook",)
# What the notebook never says.
NEVER_HAD = frozenset({
    "visit_no", "return_of", "return_reason", "made_on", "installed_on", "age_years", "fitting", "site_id", "site_kind",
    "postcode", "booked_for", "started_at", "travel_min", "technician", "fault_code", "check", "check_result", "reading", "check_min",
    "mechanism", "cause", "part_status", "part_source", "quantity", "part_cost", "charge", "callout_charge", "labour_charge",
    "part_charge", "currency", "payer", "second_visit_reason", "installation_looked_at", "advised_not_done", "test_run",
    "leak_check", "safety_test", "note",
})  # fmt: skip
HEADERS = ("Date", "Entry")
BROKEN_EVERY = 200


def write(rows: list[Row], folder: Path) -> Planted:
    """Write the notebook; as in `spreadsheet.write`."""
    planted = Planted(lost=set(range(len(rows))))
    entries = []
    for place, visit in enumerate(
        (visit for visit in visits_of(rows) if visit.fields["finished_at"]), start=1
    ):
        date, kind = dotted(visit.fields["finished_at"]), words.KINDS[visit.fields["unit_type"]][0]
        if place % BROKEN_EVERY == 0:
            is_date = place // BROKEN_EVERY % 2
            date, kind = ("31.02.2024", kind) if is_date else (date, "")
            planted.set_aside[UNREADABLE_DATE if is_date else NO_KIND] += 1
        else:
            planted.lost -= {line.number for line in visit.told}
        entries.append((date, _entry(visit, kind)))
    with (folder / FILE).open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([HEADERS, *entries])
    planted.rows[FILE] = len(entries)
    planted.clean = [without(row, NEVER_HAD) for n, row in enumerate(rows) if n not in planted.lost]
    return planted


def _entry(visit: AtVisit, kind: str) -> str:
    fields, who = visit.fields, person(visit.fields["site_id"])
    sections = {
        "Job": fields["job_id"],
        "Type": fields["job_kind"],
        "Machine": kind,
        "Make": fields["make"],
        "Model": fields["model"],
        "Tag": fields["unit_id"],
        "Serial": fields["serial"],
        "Called": dotted(fields["reported_at"]),
        "Complaint": visit.first("symptom"),
        "Found": "; ".join(line.row["finding"] for line in visit.told if line.row["finding"]),
        "Did": "; ".join(_work(line) for line in visit.told if line.row["action"]),
        "Time": f"{fields['hands_on_min']} min" if fields["hands_on_min"] else "",
        "Result": fields["outcome"],
    }
    told = " ".join(f"{word}: {text}." for word, text in sections.items() if text)
    return f"For {who.name}, {who.telephone}, {who.way_in}. {told} Told {who.name} on {who.telephone}, key back in {who.way_in}."


def _work(line: Line) -> str:
    row = line.row
    done = words.ACTIONS[row["action"]]
    return " ".join(text for text in (done, row["part_name"], row["part_no"]) if text)
