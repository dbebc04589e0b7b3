"""Logs of every format with identifiers planted wherever a person could have written one."""

from __future__ import annotations

import csv
import gzip
import io
import json
import random
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from shutil import copy

import pyarrow as pa
import xlsxwriter
from pyarrow import parquet

from sample_logs.exports import layout_files
from tests.privacy.identifiers import Identifier

ROWS = 40
# Where one is written that belongs there, and where one was written by mistake or for want of a better place.
OWN_COLUMNS = ("site_id", "unit_id", "serial", "technician")
TEXT_COLUMNS = (
    "symptom",
    "finding",
    "check",
    "check_result",
    "cause",
    "part_name",
    "second_visit_reason",
    "outcome",
    "note",
    "reading",
)
TYPED_COLUMNS = ("booked_for", "hands_on_min", "charge", "quantity", "test_run", "installed_on")
NUMBER_COLUMNS = ("job_id", "return_of", "make")
# What a number of a job may look like is a job's number, whatever else it is: only names and telephones can be told.
TOLD_IN_NUMBERS = ("name", "telephone", "e-mail", "technician")
UNKNOWN = ("Customer", "Phone", "Comments")
COLUMNS = (
    *("job_id", "unit_id", "unit_type", "make", "model", "serial", "installed_on", "site_id", "site_kind", "postcode"),
    *("reported_at", "booked_for", "finished_at", "hands_on_min", "technician", "symptom", "fault_code", "check", "check_result"),
    *("reading", "finding", "cause", "part_no", "part_name", "quantity", "action", "charge", "outcome", "second_visit_reason"),
    *("test_run", "note", "return_of"),
)  # fmt: skip
_SYMPTOMS = ("not draining", "leaks", "noisy", "not heating")


@dataclass
class Load:
    """Files of one call, with the layouts that the shop wrote for them."""

    name: str
    files: list[Path]
    lists: dict[str, Path] = field(default_factory=dict)
    layouts: tuple[str, ...] = ()


def plant(folder: Path, identifiers: list[Identifier], seed: int) -> list[Load]:
    """Write the files; each identifier stands in at least one of them, most in several places."""
    draw = random.Random(seed)
    ways = (_csv, _packed_csv, _workbook, _json_lines, _parquet, _three_files, _notebook)
    shares = [identifiers[n :: len(ways)] for n in range(len(ways))]
    folder.mkdir()
    return [way(folder, share, draw) for way, share in zip(ways, shares, strict=True)]


def store_layouts(folder: Path, names: Iterable[str]) -> None:
    """Copy the shop's own layouts into a store."""
    (folder / "layouts").mkdir(parents=True, exist_ok=True)
    for name in names:
        copy(layout_files()[name], folder / "layouts")


def rows(identifiers: list[Identifier], draw: random.Random, prefix: str) -> list[dict[str, str]]:
    """Rows of a standard log, with identifiers in every column that could hold one."""
    made = [_row(draw, f"{prefix}{n:03d}", n) for n in range(max(ROWS, 2 * len(identifiers)))]
    places = [(made[n % len(made)], each) for n, each in enumerate(identifiers * 3)]
    for row, each in places:
        said = draw.choice(each.said)
        column = draw.choice(TEXT_COLUMNS)
        if column == "part_name":
            # A bare number in the name of a part is a part's number for all that anybody can tell.
            said = draw.choice(
                [way for way in each.said if not way[0].isdigit() or each.kind != "serial"] or each.said
            )
        row[column] = _among(draw, said, row[column])
        row[draw.choice(UNKNOWN)] = each.text
        row[draw.choice(OWN_COLUMNS)] = each.text
        if draw.random() < 0.3:
            row[draw.choice(TYPED_COLUMNS)] = each.text
        if each.kind == "postcode":
            row["postcode"] = each.text
        if each.kind in TOLD_IN_NUMBERS and draw.random() < 0.3:
            row[draw.choice(NUMBER_COLUMNS)] = each.text
    return made


def _row(draw: random.Random, job_id: str, n: int) -> dict[str, str]:
    day = f"2025-{1 + n % 11:02d}-{1 + draw.randrange(27):02d}"
    return dict.fromkeys((*COLUMNS, *UNKNOWN), "") | {
        "job_id": job_id,
        "unit_id": f"U{n % 17}",
        "unit_type": ("washer", "dishwasher")[n % 2],
        "make": ("Zwirnox", "Kellora")[n % 2],
        "site_id": f"S{n % 17}",
        "site_kind": "household",
        "postcode": ("QX1 4", "ZZ9 0")[n % 2],
        "reported_at": day,
        "finished_at": f"{day}T15:00",
        "hands_on_min": str(10 + n),
        "technician": f"T{n % 3}",
        "symptom": draw.choice(_SYMPTOMS),
        "part_no": ("100-20", "200-30")[n % 2],
        "part_name": ("drain pump", "door seal")[n % 2],
        "action": ("clean", "replace")[n % 2],
        "charge": "85.00",
        "outcome": "fixed",
        "test_run": "yes",
    }


def _among(draw: random.Random, said: str, before: str) -> str:
    shape = draw.choice(
        ("{said}", "{before}, {said}", "{said}; {before}", "{before} ({said})", "{before}. {said}, again")
    )
    return shape.format(said=said, before=before or "noisy")


def _save_csv(path: Path, made: list[dict[str, str]], delimiter: str = ",") -> Path:
    text = io.StringIO()
    writer = csv.DictWriter(text, list(made[0]), delimiter=delimiter, lineterminator="\n")
    writer.writeheader()
    writer.writerows(made)
    content = text.getvalue().encode()
    path.write_bytes(gzip.compress(content) if path.suffix == ".gz" else content)
    return path


def _file_name(identifiers: list[Identifier], ending: str) -> str:
    """Somebody named the file after a customer; what a file system does not take is left out."""
    named = next(each for each in identifiers if each.kind in ("name", "technician", "telephone", "e-mail"))
    return named.text.replace("/", " ") + ending


def _csv(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    made = rows(identifiers, draw, "C")
    # A header may be somebody's name too.
    made = [row | {identifiers[0].text: "x"} for row in made]
    return Load("csv", [_save_csv(folder / f"Log {_file_name(identifiers, '.csv')}", made, ";")])


def _packed_csv(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    made = rows(identifiers, draw, "G")
    path = _save_csv(folder / _file_name(identifiers, ".csv.gz"), made)
    machines = [
        {
            "unit_id": each.text,
            "unit_type": "washer",
            "make": "Zwirnox",
            "serial": each.text,
            "site_id": each.text,
            "Contact": each.text,
        }
        for each in identifiers
    ]
    usual_parts = [
        {"part_no": f"20{n}-20", "part_name": f"drain pump {n}", "fits": "washer", "unit_cost": "9.50"}
        for n in range(30)
    ]
    parts = [
        {"part_no": f"10{n}-20", "part_name": each.said[0], "fits": "washer", "unit_cost": "9.50"}
        for n, each in enumerate(identifiers)
    ]
    usual_places = [{"place": f"van K{n}", "part_no": "200-20", "quantity": "1"} for n in range(30)]
    stock = [{"place": draw.choice(each.said), "part_no": "100-20", "quantity": "2"} for each in identifiers]
    lists = {
        "machines": _save_csv(folder / f"machines {identifiers[0].kind}.csv", machines),
        "parts": _save_csv(folder / "parts.csv", usual_parts + parts),
        "stock": _save_csv(folder / "stock.csv", usual_places + stock),
    }
    return Load("csv.gz", [path], lists)


def _workbook(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    made = rows(identifiers, draw, "X")
    path = folder / _file_name(identifiers, ".xlsx")
    book = xlsxwriter.Workbook(path)
    for n, part in enumerate((made[: len(made) // 2], made[len(made) // 2 :])):
        named = "".join(sign for sign in identifiers[n].text if sign not in "[]:*?/\\'")[:28]
        sheet = book.add_worksheet(f"{n} {named}")
        sheet.write_string(0, 0, f"Jobs of {identifiers[n].text}")
        sheet.write_row(2, 0, list(part[0]))
        for number, row in enumerate(part, start=3):
            sheet.write_row(number, 0, list(row.values()))
            sheet.write_comment(number, 1, identifiers[0].text)
    book.add_worksheet("Notes").write_string(0, 0, identifiers[-1].text)
    book.set_properties({"author": identifiers[0].text})
    book.close()
    return Load("xlsx", [path])


def _json_lines(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    path = folder / _file_name(identifiers, ".jsonl")
    jobs = [
        {
            "contact": {"name": row["Customer"], "phone": row["Phone"]},
            identifiers[0].text: "x",
            "works": [{k: v for k, v in row.items() if v}],
        }
        for row in rows(identifiers, draw, "L")
    ]
    path.write_text("\n".join(json.dumps(job, ensure_ascii=False) for job in jobs), encoding="utf-8")
    return Load("json lines", [path])


def _parquet(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    path = folder / _file_name(identifiers, ".parquet")
    parquet.write_table(pa.Table.from_pylist(rows(identifiers, draw, "P")), path)
    return Load("parquet", [path])


def _three_files(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    diary, invoices, bills = [], [], []
    for n, each in enumerate(identifiers):
        number, day, said = f"R{n + 100}", f"{13 + n % 15:02d}/03/2025", draw.choice(each.said)
        diary.append(
            {"Date": day, "Done on": day, "Called on": day, "Customer": each.text, "Telephone": each.text, "Kind of customer": "household",
             "Machine": "washer", "Make": "Zwirnox", "Complaint": f"noisy, {said}", "Outcome": "fixed", "Invoice no": number,
             "Technician": each.text, "For": "fault"}
        )  # fmt: skip
        invoices.append(
            {
                "Invoice": number,
                "Customer name": each.text,
                "Day of visit": day,
                "Work, net": "50,00",
                "Parts, net": "10,00",
                "Total, net": "60,00",
            }
        )
        bills.append(
            {"For invoice": number, "For customer": each.text, "Fitted on": day, "Article": "100-20", "Description": f"drain pump, {each.said[0]}",
             "Pieces": "1", "Each": "10,00"}
        )  # fmt: skip
    files = [
        _save_csv(folder / name, made)
        for name, made in (("diary.csv", diary), ("invoices.csv", invoices), ("bills.csv", bills))
    ]
    return Load("three files", files, layouts=("firm-diary", "firm-invoices", "firm-parts-bills"))


def _notebook(folder: Path, identifiers: list[Identifier], draw: random.Random) -> Load:
    path = folder / "notebook.csv"
    entries = [
        {
            "Date": f"{13 + n % 15:02d}.03.2025",
            "Entry": f"For {each.text}, {draw.choice(each.said)}\nJob: N{n}. Machine: washer. Make: Zwirnox. Tag: {each.text}. Serial: {each.text}. "
            f"Complaint: not draining, {draw.choice(each.said)}. Found: pump blocked, {draw.choice(each.said)}. Did: cleaned drain pump "
            f"{draw.choice(each.said)}. Time: 30 min. Result: fixed, {draw.choice(each.said)}\n\n{each.text}\n{draw.choice(each.said)}",
        }
        for n, each in enumerate(identifiers)
    ]
    return Load("notebook", [_save_csv(path, entries)], layouts=("notebook",))
