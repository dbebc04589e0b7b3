"""The job sheet: the standard log's own values on paper and in a workbook, and the workbook loads back as it is."""

import csv
import re
import zipfile
from datetime import date, datetime
from io import BytesIO
from xml.etree import ElementTree as ET

import pytest

from pipeline.cli import main
from pipeline.job_sheet.page import page
from pipeline.job_sheet.workbook import ROWS, workbook
from pipeline.load import load, log_check
from pipeline.standard_log import column_names
from pipeline.store.folder import Store
from pipeline.vocabulary import is_closed, safety_words, standard_values
from pipeline.vocabulary.cautions import GENERAL

NS = {"s": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}
TICKED = (
    "mechanism",
    "cause",
    "outcome",
    "second_visit_reason",
    "payer",
    "return_reason",
    "fitting",
    "job_kind",
)
LISTED = ("action", "part_status", "part_source")
FILLED = [
    {
        "job_id": "0012",
        "visit_no": 1,
        "unit_id": "M-1",
        "unit_type": "washer",
        "serial": "00123",
        "installed_on": date(2019, 5, 1),
        "site_id": "S1",
        "reported_at": datetime(2026, 3, 4, 9, 30),
        "finished_at": datetime(2026, 3, 5, 14, 5),
        "hands_on_min": 35,
        "symptom": "not draining",
        "mechanism": "stuck",
        "cause": "wear",
        "part_no": "0077",
        "part_name": "drain pump",
        "quantity": 1,
        "part_cost": 38.5,
        "action": "replace",
        "charge": 120.0,
        "currency": "EUR",
        "payer": "customer",
        "outcome": "fixed",
        "test_run": "yes",
    },
    {
        "job_id": "0013",
        "unit_type": "dryer",
        "reported_at": date(2026, 3, 6),
        "finished_at": date(2026, 3, 7),
        "symptom": "burning smell",
        "action": "make safe",
        "outcome": "made safe",
        "test_run": "no",
    },
]


def part(content: bytes, name: str) -> ET.Element:
    with zipfile.ZipFile(BytesIO(content)) as book:
        return ET.fromstring(book.read(f"xl/{name}"))


@pytest.mark.parametrize("column", TICKED)
def test_every_value_of_the_standard_log_has_a_box(column):
    assert standard_values(column)
    for value in standard_values(column):
        assert f'<span class="tick">{value}</span>' in page()


@pytest.mark.parametrize("column", LISTED)
def test_values_of_a_line_of_work_are_listed(column):
    assert " · ".join(standard_values(column)) in page()


def test_page_asks_for_what_no_figure_can_find_later_and_cautions():
    text = page()
    for asked in (
        "Installation looked at",
        "Test run",
        "Leak check",
        "Safety test",
        "How it failed",
        "Why",
        "Minutes",
    ):
        assert asked in text
    assert GENERAL in text
    assert text.count("make safe and stop") == 1
    assert all(f'<span class="tick">{danger}</span>' in text for danger in safety_words() if danger != "gas")


def test_page_needs_nothing_from_outside():
    assert not re.search(r"https?:|src=|url\(|<script|<link|@import", page())


def test_drop_downs_hold_the_standard_values_and_closed_lists_hold_to_them():
    sheet, words = part(workbook(), "worksheets/sheet1.xml"), part(workbook(), "worksheets/sheet2.xml")
    shared = [item.findtext("s:t", namespaces=NS) for item in part(workbook(), "sharedStrings.xml")]
    cells = {
        cell.get("r"): shared[int(cell.findtext("s:v", namespaces=NS))]
        for cell in words.iterfind(".//s:c", NS)
        if cell.get("t") == "s"
    }
    offered = {}
    for rule in sheet.iterfind(".//s:dataValidation[@type='list']", NS):
        letters = re.fullmatch(rf"([A-Z]+)2:\1(?:{ROWS + 1})", rule.get("sqref")).group(1)
        first, last = re.findall(r"\$(\d+)", rule.findtext("s:formula1", namespaces=NS))
        values = [cells[f"{letters}{n}"] for n in range(int(first), int(last) + 1)]
        offered[letters] = (tuple(values), rule.get("showErrorMessage") == "1")
    names = column_names("log")
    wanted = {name for name in names if standard_values(name)}
    assert {"unit_type", "cause", "mechanism", "outcome", "test_run", "action"} <= wanted
    assert len(offered) == len(wanted)
    for letters, (values, holds) in offered.items():
        name = names[place(letters)]
        assert values == standard_values(name)
        assert holds == is_closed(name)


def place(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def test_header_is_the_standard_log_and_stays_in_sight():
    sheet = part(workbook(), "worksheets/sheet1.xml")
    shared = [item.findtext("s:t", namespaces=NS) for item in part(workbook(), "sharedStrings.xml")]
    header = [shared[int(cell.findtext("s:v", namespaces=NS))] for cell in sheet.find(".//s:row", NS)]
    assert tuple(header) == column_names("log")
    assert sheet.find(".//s:pane", NS).get("state") == "frozen"


def test_filled_workbook_loads_as_it_is_and_says_the_same_as_the_csv(tmp_path):
    (tmp_path / "job-sheet.xlsx").write_bytes(workbook(FILLED))
    with (tmp_path / "log.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, column_names("log"))
        writer.writeheader()
        writer.writerows(FILLED)
    read = {}
    for name in ("job-sheet.xlsx", "log.csv"):
        store = tmp_path / f"store of {name}"
        load(store, [tmp_path / name], key_path=tmp_path / "key")
        accounts = log_check(store)
        assert [(file["received"], file["used"]) for file in accounts] == [(2, 2)]
        with Store(store).connect() as con:
            read[name] = con.execute(
                "select * exclude (file_no, line) from normalise.lines order by row_no"
            ).fetchall()
            assert con.execute("select job_id, outcome from tables.jobs order by 1").fetchall() == [
                ("0012", "fixed"),
                ("0013", "made safe"),
            ]
            assert con.execute(
                "select part_no, part_cost_minor from normalise.lines where cause = 'wear'"
            ).fetchall() == [("0077", 3850)]
    assert read["job-sheet.xlsx"] == read["log.csv"]


def test_workbook_without_a_line_is_a_log_without_rows(tmp_path):
    (tmp_path / "empty.xlsx").write_bytes(workbook())
    load(tmp_path / "store", [tmp_path / "empty.xlsx"], key_path=tmp_path / "key")
    assert [file["received"] for file in log_check(tmp_path / "store")] == [0]


def test_both_are_written_here_and_never_over_a_filled_sheet(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["job-sheet"]) == 0
    assert (tmp_path / "job-sheet.html").read_text(encoding="utf-8") == page()
    (tmp_path / "job-sheet.html").unlink()
    before = (tmp_path / "job-sheet.xlsx").read_bytes()
    assert main(["job-sheet"]) == 2
    assert "job-sheet.xlsx is there already" in capsys.readouterr().err
    assert (tmp_path / "job-sheet.xlsx").read_bytes() == before
    assert not (tmp_path / "job-sheet.html").exists()


@pytest.mark.parametrize(
    ("name", "code"), [("a.html", 0), ("a.XLSX", 0), ("a.pdf", 2), ("a", 2), ("no/such/a.html", 3)]
)
def test_output_is_named_by_its_ending(tmp_path, monkeypatch, capsys, name, code):
    monkeypatch.chdir(tmp_path)
    assert main(["job-sheet", "--output", name]) == code
    assert [path.name for path in tmp_path.iterdir()] == ([name] if code == 0 else [])
    assert len(capsys.readouterr().err.splitlines()) == (1 if code else 0)
