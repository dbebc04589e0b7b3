"""The exports have the habits they are said to have, and are the same bytes each time."""

import csv
import json
import tomllib
from collections import Counter
from datetime import datetime
from itertools import pairwise

import fastexcel
import pytest

from pipeline.standard_log import column_names
from sample_logs.exports import EXPORTS, layout_files, notebook, spreadsheet, visit_sheet, write_exports
from sample_logs.exports.people import person
from sample_logs.exports.visits import visits_of
from sample_logs.exports.written import hours_and_minutes, with_comma
from sample_logs.generate import main
from sample_logs.simulate import simulate

MACHINES = 500
LAYOUTS = {name: tomllib.loads(path.read_text(encoding="utf-8")) for name, path in layout_files().items()}


@pytest.fixture(scope="module")
def rows():
    return simulate(machines=MACHINES)["log"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("exports")


@pytest.fixture(scope="module")
def planted(rows, folder):
    return write_exports(rows, folder)


@pytest.fixture(scope="module")
def sheet(planted, folder):
    """Cells of the workbook, title lines and all."""
    book = fastexcel.read_excel(folder / spreadsheet.FILE)
    read = book.load_sheet(0, header_row=None, dtypes="string", whitespace_as_null=False)
    return [["" if cell is None else cell for cell in row] for row in read.to_polars().rows()]


def table(path, **options):
    with path.open(newline="", **{"encoding": "utf-8", **options}) as file:
        return list(csv.DictReader(file, delimiter=";" if "visits" in path.name else ","))


def test_the_command_writes_the_same_bytes_again(planted, folder, tmp_path):
    main(["--exports", str(tmp_path), "--machines", str(MACHINES)])
    written = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == written
    assert set(written) == {name for each in planted.values() for name in each.rows}


def test_every_layout_names_standard_columns_and_every_export_has_its_layouts():
    assert set(LAYOUTS) == {name for export in EXPORTS.values() for name in export.LAYOUTS}
    for name, layout in LAYOUTS.items():
        assert layout["name"] == name
        sections = layout.get("record", {}).get("sections", {}).values()
        told = {
            *layout["columns"],
            *layout.get("constants", {}),
            *(c for columns in sections for c in columns),
        }
        assert told <= set(column_names("log"))


@pytest.mark.parametrize("export", EXPORTS.values(), ids=EXPORTS)
def test_a_column_is_either_in_the_layout_or_was_never_had(export):
    layouts = [LAYOUTS[name] for name in export.LAYOUTS]
    sections = [
        c for each in layouts for cs in each.get("record", {}).get("sections", {}).values() for c in cs
    ]
    told = {c for each in layouts for c in each["columns"]} | set(sections)
    never = export.NEVER_HAD - {"currency", "part_status"}  # a constant may stand in for them
    assert not told & never
    assert told | export.NEVER_HAD | {"currency", "part_status", "action"} >= set(column_names("log"))


def test_title_lines_stand_above_the_header_which_comes_again_every_sixty_rows(sheet, planted):
    assert [row[0] for row in sheet[:2]] == list(spreadsheet.TITLE)
    at_header = [n for n, row in enumerate(sheet) if tuple(row) == spreadsheet.HEADERS]
    assert {b - a for a, b in pairwise(at_header)} == {spreadsheet.ROWS_A_PAGE + 1}
    assert at_header[0] == 2
    assert planted["spreadsheet"].set_aside["the header again"] == len(at_header) - 1
    assert planted["spreadsheet"].rows[spreadsheet.FILE] == len(sheet) - 3
    assert sheet[-1][0] == "Total"


def test_broken_rows_are_few_and_known(sheet, planted):
    at = {header: place for place, header in enumerate(spreadsheet.HEADERS)}
    jobs = [row for row in sheet[3:-1] if tuple(row) != spreadsheet.HEADERS]
    found = {
        "cannot be read as a date or time": sum(row[at["Reported"]].startswith("32.") for row in jobs),
        "negative minutes": sum(row[at["Time on machine"]].startswith("-") for row in jobs),
        "no kind of machine": sum(not row[at["Appliance"]] for row in jobs),
    }
    assert found == {reason: planted["spreadsheet"].set_aside[reason] for reason in found}
    assert all(count == 3 for count in found.values())
    assert planted["spreadsheet"].repeated == len(jobs) - len({tuple(row) for row in jobs}) > 0


def test_several_works_share_a_row_and_labour_has_rows_of_its_own(sheet):
    at = {header: place for place, header in enumerate(spreadsheet.HEADERS)}
    parts = Counter(row[at["Part"]] for row in sheet)
    assert all(parts[name] for name in spreadsheet.NO_PARTS)
    several = [row for row in sheet if " + " in row[at["Part no"]]]
    assert several
    assert all(row[at["Part"]].count("+") == row[at["Work done"]].count("+") == 1 for row in several)
    assert any(row[at["Part no"]].endswith(" x2") for row in sheet)


def test_dates_of_the_workbook_are_partly_text_and_partly_real(folder, planted):
    read = fastexcel.read_excel(folder / spreadsheet.FILE).load_sheet(
        0, header_row=2, dtypes={"Reported": "string"}
    )
    texts = read.to_polars()["Reported"].drop_nulls().to_list()
    as_text = [text for text in texts if len(text) == len("01.03.2023 08:19") and text[2] == "."]
    assert 0.5 < len(as_text) / len(texts) < 0.9


def test_lines_of_json_hold_every_line_of_the_log(folder, planted, rows):
    with (folder / "lines.jsonl").open(encoding="utf-8") as file:
        jobs = [json.loads(line) for line in file]
    works = [work for job in jobs for visit in job["attendances"] for work in visit["works"]]
    assert [job["ticket"] for job in jobs] == list(dict.fromkeys(row["job_id"] for row in rows))
    assert (
        len(works)
        == sum(len(visit.lines) for visit in visits_of(rows))
        == planted["json lines"].rows["lines.jsonl"]
    )
    assert all(isinstance(v["minutes_at_machine"], int | None) for job in jobs for v in job["attendances"])
    assert datetime.fromisoformat(jobs[0]["raised"]) == datetime.fromisoformat(rows[0]["reported_at"])


def test_the_visit_sheet_has_a_mark_at_its_start_and_a_twin_in_windows_1252(folder, planted):
    raw = (folder / visit_sheet.FILE).read_bytes()
    twin = (folder / visit_sheet.FILE_1252).read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf")
    assert raw.decode("utf-8-sig") == twin.decode("cp1252")
    assert "café" in twin.decode("cp1252")
    visits = table(folder / visit_sheet.FILE, encoding="utf-8-sig")
    assert len(visits) == len(planted["visit sheet"].job_ids) == planted["visit sheet"].rows[visit_sheet.FILE]
    assert any(" + " in visit["Parts"] for visit in visits)


def test_numbers_missing_on_invoices_and_bills_are_told_by_customer_and_day(folder, planted):
    visits = Counter((row["Customer"], row["Done on"]) for row in table(folder / "diary.csv"))
    for name, columns in (
        ("invoices.csv", ("Invoice", "Customer name", "Day of visit")),
        ("parts_bills.csv", ("For invoice", "For customer", "Fitted on")),
    ):
        lines = [[row[column] for column in columns] for row in table(folder / name)]
        missing = [(customer, day) for number, customer, day in lines if not number]
        assert 0.04 < len(missing) / len(lines) < 0.12
        assert all(visits[each] == 1 for each in missing)


def test_the_notebook_has_two_columns_and_people_in_its_entries(folder, planted, rows):
    entries = table(folder / notebook.FILE)
    assert set(entries[0]) == {"Date", "Entry"}
    who = person(rows[0]["site_id"])
    assert entries[0]["Entry"].startswith(f"For {who.name}, {who.telephone}, {who.way_in}. Job: J23-00001.")
    assert sum(planted["notebook"].set_aside.values()) == len(entries) // notebook.BROKEN_EVERY


def test_everybody_is_somebody_else():
    people = [person(f"S-{number:04d}") for number in range(1, 7600)]
    assert len({who.name for who in people}) == len({who.telephone for who in people}) == len(people)


@pytest.mark.parametrize(("minutes", "text"), [("45", "45 min"), ("70", "1h10"), ("60", "1h00"), ("", "")])
def test_minutes_as_an_office_writes_them(minutes, text):
    assert hours_and_minutes(minutes) == text


@pytest.mark.parametrize(("amount", "text"), [("1234.5", "1.234,50"), ("0.00", "0,00"), ("", "")])
def test_amounts_as_an_office_writes_them(amount, text):
    assert with_comma(amount) == text
