"""
`spreadsheet.xlsx`: the office's job list, one row per line of work.

Its habits: two lines of title; the header again every sixty rows; a column without a name; days first, partly as text and
partly as real dates; minutes as "1h10" or "45 min"; amounts with a comma, some with a sign; two works on parts in one row
("DP-1107 + FI-1001"); rows of labour, call-out and sundries; rows that stand there twice; rows that cannot be used; a
totals row; customers by name and telephone.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from pathlib import Path

import xlsxwriter

from sample_logs.exports import words
from sample_logs.exports.people import person
from sample_logs.exports.visits import AtVisit, Line, visits_of
from sample_logs.exports.written import (
    HEADER_AGAIN,
    NEGATIVE_MINUTES,
    NO_KIND,
    TOTAL,
    UNREADABLE_DATE,
    Planted,
    at,
    dotted,
    hours_and_minutes,
    repeats,
    with_comma,
    without,
)
from sample_logs.jobs import Row
from sample_logs.scenario import FIRM

FILE = "spreadsheet.xlsx"
LAYOUTS = ("office-job-list",)
# What this office never writes down.
NEVER_HAD = frozenset({
    "booked_for", "started_at", "travel_min", "technician", "made_on", "installed_on", "age_years", "fitting", "postcode",
    "fault_code", "check", "check_result", "reading", "check_min", "mechanism", "cause", "part_source", "part_cost", "callout_charge",
    "labour_charge", "part_charge", "currency", "second_visit_reason", "installation_looked_at", "advised_not_done",
    "test_run", "leak_check", "safety_test", "note",
})  # fmt: skip
HEADERS = ("Job no", "Visit", "Type of call", "Back to job", "Why back", "Customer no", "Customer", "Telephone", "Customer type",
           "Appliance", "Make", "Model", "Serial number", "Asset tag", "", "Reported", "Finished", "Time on machine",
           "Complaint", "What was found", "Part no", "Part", "Qty", "Part state", "Work done", "Charge", "Paid by",
           "Result")  # fmt: skip
TITLE = (f"Job list, {FIRM}", "Printed 02.03.2026, all vans")
ROWS_A_PAGE = 60
# Every so many rows one is broken, and in this way; never two in one job.
BROKEN_EVERY = 150
NO_PARTS = ("LABOUR", "CALL-OUT", "SUNDRIES")
WITH_NO_PART = 0.12
WRITTEN_TWICE = 0.004
REAL_DATE = 0.3

Cell = str | int | datetime
Cells = dict[str, Cell]


def write(rows: list[Row], folder: Path) -> Planted:
    """
    Write the workbook.

    Parameters
    ----------
    rows : list of dict
        Of the standard log.
    folder : Path
        There already.

    Returns
    -------
    Planted
        What was planted.
    """
    written, planted = _rows(rows)
    below = [(*row.values(),) for row, _ in written]
    planted.repeated = repeats([cells for cells, (_, usable) in zip(below, written, strict=True) if usable])
    for page in range(len(below) // ROWS_A_PAGE, 0, -1):
        below.insert(page * ROWS_A_PAGE, HEADERS)
        planted.set_aside[HEADER_AGAIN] += 1
    below.append(_totals(written))
    planted.set_aside[TOTAL] += 1
    planted.rows[FILE] = len(below)
    planted.clean = [without(row, NEVER_HAD) for n, row in enumerate(rows) if n not in planted.lost]
    _save(below, folder / FILE)
    return planted


def _rows(rows: list[Row]) -> tuple[list[tuple[Cells, bool]], Planted]:
    """Every row below the header, and whether it can be used."""
    rng, planted = random.Random("spreadsheet"), Planted()
    written: list[tuple[Cells, bool]] = []
    broken_job, ways = "", iter(_ways_to_break())
    for visit in visits_of(rows):
        for cells, numbers in _visit_rows(rng, visit):
            is_broken = (len(written) + 1) % BROKEN_EVERY == 0 and visit.fields["job_id"] != broken_job
            way = next(ways, None) if is_broken and visit.fields["hands_on_min"] and numbers else None
            if way:
                broken_job = visit.fields["job_id"]
                planted.set_aside[way[0]] += 1
                planted.lost |= numbers
                written.append((cells | way[1], False))
                continue
            written.append((cells, True))
            if rng.random() < WRITTEN_TWICE:
                written.append((cells, True))
    return written, planted


def _ways_to_break() -> list[tuple[str, Cells]]:
    return [
        (UNREADABLE_DATE, {"Reported": "32.13.2024 10:00"}),
        (NEGATIVE_MINUTES, {"Time on machine": "-20"}),
        (NO_KIND, {"Appliance": ""}),
    ] * 3


def _visit_rows(rng: random.Random, visit: AtVisit) -> Iterator[tuple[Cells, frozenset[int]]]:
    """Rows of a visit, with the lines of the log that each stands for; works on parts share one row."""
    shared = _visit_cells(rng, visit)
    together = visit.worked if len(visit.worked) > 1 else ()
    for line in visit.lines:
        if together and line is together[0]:
            yield shared | _works(together), frozenset(each.number for each in together)
        elif line not in together:
            yield shared | _work(rng, line), frozenset({line.number})
    if visit.fields["charge"] and rng.random() < WITH_NO_PART:
        yield shared | {"Part": NO_PARTS[int(rng.random() * len(NO_PARTS))], "Qty": "1"}, frozenset()


def _visit_cells(rng: random.Random, visit: AtVisit) -> Cells:
    fields = visit.fields
    who = person(fields["site_id"])
    cells = {
        "Job no": fields["job_id"],
        "Visit": int(fields["visit_no"]),
        "Type of call": fields["job_kind"].capitalize(),
        "Back to job": fields["return_of"],
        "Why back": fields["return_reason"],
        "Customer no": fields["site_id"],
        "Customer": who.name,
        "Telephone": who.telephone,
        "Customer type": {"household": "Private"}.get(fields["site_kind"], fields["site_kind"].capitalize()),
        "Appliance": words.kind(rng, fields["unit_type"]),
        "Make": fields["make"],
        "Model": fields["model"],
        "Serial number": fields["serial"],
        "Asset tag": fields["unit_id"],
        "Reported": _moment(rng, fields["reported_at"]),
        "Finished": _moment(rng, fields["finished_at"]),
        "Time on machine": hours_and_minutes(fields["hands_on_min"]),
        "Complaint": words.symptom(rng, visit.first("symptom")),
        "Charge": _amount(rng, fields["charge"]),
        "Paid by": words.PAYERS[fields["payer"]],
        "Result": words.outcome(rng, fields["outcome"]),
    }
    return {header: cells.get(header, "") for header in HEADERS}


def _moment(rng: random.Random, text: str) -> Cell:
    is_real = rng.random() < REAL_DATE
    return at(text) if text and is_real else dotted(text)


def _amount(rng: random.Random, text: str) -> str:
    sign = "€ " if rng.random() < 0.3 else ""
    return sign + with_comma(text) if text else ""


def _work(rng: random.Random, line: Line) -> Cells:
    row = line.row
    in_pairs = row["part_no"] in words.IN_PAIRS and bool(row["quantity"])
    return {
        "What was found": row["finding"],
        "Part no": f"{_number(rng, row['part_no'])} x2" if in_pairs else _number(rng, row["part_no"]),
        "Part": row["part_name"].capitalize(),
        "Qty": "" if in_pairs else row["quantity"],
        "Part state": words.STATES[row["part_status"]],
        "Work done": words.ACTIONS.get(row["action"], ""),
    }


def _number(rng: random.Random, part_no: str) -> str:
    draw = rng.random()
    return part_no.replace("-", " ") if draw < 0.1 else part_no.lower() if draw < 0.15 else part_no


def _works(lines: tuple[Line, ...]) -> Cells:
    """Several works in one row, each cell with as many pieces."""
    rows = [line.row for line in lines]
    return {
        "What was found": " + ".join(row["finding"] for row in rows if row["finding"]),
        "Part no": " + ".join(row["part_no"] for row in rows),
        "Part": " + ".join(row["part_name"] for row in rows).capitalize(),
        "Part state": "fitted",
        "Work done": " + ".join(words.ACTIONS[row["action"]] for row in rows),
    }


def _totals(written: list[tuple[Cells, bool]]) -> tuple[Cell, ...]:
    """Number of rows and sum of what they charge, as a spreadsheet adds them up."""
    amounts = (str(cells["Charge"]).removeprefix("€ ") for cells, _ in written)
    total = sum(Decimal(each.replace(".", "").replace(",", ".")) for each in amounts if each)
    cells = {"Job no": "Total", "Visit": len(written), "Charge": with_comma(str(total))}
    return tuple(cells.get(header, "") for header in HEADERS)


def _save(below: list[tuple[Cell, ...]], path: Path) -> None:
    # A fixed day of creation, so that the same rows are the same bytes.
    with xlsxwriter.Workbook(path, {"strings_to_numbers": False}) as book:
        book.set_properties({"created": datetime(2026, 3, 2)})  # noqa: DTZ001  a workbook knows no zones
        day = book.add_format({"num_format": "dd.mm.yyyy hh:mm"})
        sheet = book.add_worksheet("Jobs")
        for number, title in enumerate(TITLE):
            sheet.write_string(number, 0, title)
        for number, cells in enumerate([HEADERS, *below], start=len(TITLE)):
            for place, cell in enumerate(cells):
                if isinstance(cell, datetime):
                    sheet.write_datetime(number, place, cell, day)
                elif isinstance(cell, int):
                    sheet.write_number(number, place, cell)
                elif cell:
                    sheet.write_string(number, place, cell)
