"""`mendstat recognise`: sentences, rows, questions and a layout; then `mendstat load` reads the file by it."""

import csv
import json
import random
from pathlib import Path

import pytest
import xlsxwriter

from pipeline.cli import main
from pipeline.intake.layout_files import read_layout
from pipeline.store.folder import Store
from sample_logs.exports import write_exports
from sample_logs.exports.people import person
from sample_logs.simulate import simulate

MACHINES = 150
EXPORTS = ("spreadsheet.xlsx", "lines.jsonl", "visits.csv", "visits-1252.csv", "notebook.csv")
# What nobody asks, but is right as well: the day and the kind stand in the text of a notebook.
LAYOUTS = {
    "spreadsheet.xlsx": "office-job-list",
    "lines.jsonl": "booking-system",
    "visits.csv": "visit-sheet",
    "visits-1252.csv": "visit-sheet",
    "notebook.csv": "notebook",
}


@pytest.fixture(scope="module")
def exports(tmp_path_factory):
    folder = tmp_path_factory.mktemp("exports")
    rows = simulate(machines=MACHINES)["log"]
    write_exports(rows, folder)
    return folder, {mark for row in rows for mark in person(row["site_id"]).marks}


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path


def written(name, rows, delimiter=","):
    with Path(name).open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=delimiter).writerows(rows)
    return name


def layout():
    (path,) = Path("mendstat-store/layouts").glob("*.toml")
    return read_layout(path.read_text(encoding="utf-8"), str(path))


@pytest.mark.parametrize("name", EXPORTS)
def test_an_export_is_recognised_as_its_hand_written_layout_says_and_no_customer_is_named(
    place, capsys, exports, name
):
    folder, marks = exports
    assert main(["recognise", str(folder / name)]) == 0
    by_hand = Path(f"sample_logs/layouts/{LAYOUTS[name]}.toml")
    by_hand = read_layout((Path(__file__).parents[2] / by_hand).read_text(encoding="utf-8"), str(by_hand))
    found = layout()
    assert found.columns == by_hand.columns
    assert found.split == by_hand.split
    assert found.set_aside == by_hand.set_aside
    assert list(Path("mendstat-store").iterdir()) == [Path("mendstat-store/layouts")]
    said = capsys.readouterr().out + Path(f"mendstat-store/layouts/{Path(name).stem}.toml").read_text("utf-8")
    assert not [mark for mark in marks if mark.casefold() in said.casefold()]
    assert "[replaced]" in said
    assert (found.record and dict(found.record.sections)) == (
        by_hand.record and dict(by_hand.record.sections)
    )


def test_the_layout_is_used_by_the_next_load(place, capsys, exports):
    folder, _ = exports
    file = str(folder / "visits-1252.csv")
    assert main(["recognise", file]) == 0
    assert main(["load", file]) == 0
    assert main(["recognise", file]) == 0
    assert "is read by the layout visits-1252 already" in capsys.readouterr().out
    with Store(Path("mendstat-store")).connect() as con:
        assert con.execute("select count(*) from tables.visits").fetchone()[0] > 100


SHEET = [["", "washer", f"2026-01-0{n}", "fixed"] for n in (2, 3, 4)]
ODD = [
    ["Jobs of the year"],
    ["Ref", "Gerät", "Gemeldet am", "Fertig am", "Telefon", "Ergebnis"],
    ["A1", "washer", "13/04/2026", "14/04/2026", "01632 960123", "fixed"],
    ["A2", "dryer", "14/04/2026", "15/04/2026", "01632 960124", "BER"],
    ["A3", "washer", "15/04/2026", "21/04/2026", "01632 960125", "fixed"],
    ["Summe", "", "", "", "", ""],
]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_titles_sums_and_every_delimiter_are_seen(place, capsys, delimiter):
    assert main(["recognise", written("jobs.csv", ODD, delimiter)]) == 0
    assert main(["load", "jobs.csv"]) == 0
    with Store(Path("mendstat-store")).connect() as con:
        found = con.execute(
            "select job_id, unit_type, cast(reported_on as varchar), outcome from normalise.lines where problem_reason is null order by 1"
        ).fetchall()
    assert found == [
        ("A1", "washer", "2026-04-13", "fixed"),
        ("A2", "dryer", "2026-04-14", "beyond economic repair"),
        ("A3", "washer", "2026-04-15", "fixed"),
    ]


def test_each_sheet_named_after_somebody_is_that_technicians(place, capsys):
    with xlsxwriter.Workbook("book.xlsx") as book:
        for name in ("Ada", "Bo & Cem"):
            sheet = book.add_worksheet(name)
            for n, row in enumerate([["Ticket", "Machine", "Reported", "Result"], *SHEET]):
                sheet.write_row(n, 0, [f"{name[0]}{n}", *row[1:]] if n else row)
    assert main(["recognise", "book.xlsx"]) == 0
    said = capsys.readouterr().out
    assert layout().technician_from == "sheet"
    assert "Ada" not in said
    assert main(["load", "book.xlsx"]) == 0
    with Store(Path("mendstat-store")).connect() as con:
        found = con.execute(
            "select count(distinct technician), count(*), min(technician) from tables.visits"
        ).fetchone()
    assert found[:2] == (2, 6)
    assert "ada" not in found[2].lower()


def test_sheets_named_after_months_are_nobodys(place, capsys):
    with xlsxwriter.Workbook("book.xlsx") as book:
        for name in ("January", "Februar 2026", "Sheet3"):
            sheet = book.add_worksheet(name)
            for n, row in enumerate([["Ticket", "Machine", "Reported", "Result"], *SHEET]):
                sheet.write_row(n, 0, [f"{name[0]}{n}", *row[1:]] if n else row)
    assert main(["recognise", "book.xlsx"]) == 0
    assert layout().technician_from == ""


def test_a_column_of_dates_that_nothing_decides_is_one_question_with_exit_code_1(place, capsys):
    rows = [["Ticket", "Machine", "Reported", "Finished"]]
    rows += [[f"T{n * 7 % 5}", "washer", f"0{n}/04/26", f"0{n + 1}/04/26"] for n in range(1, 6)]
    assert main(["recognise", written("jobs.csv", rows)]) == 1
    said = capsys.readouterr().out
    assert 'reported_at = "day first"' in said
    text = Path("mendstat-store/layouts/jobs.toml").read_text(encoding="utf-8")
    Path("mendstat-store/layouts/jobs.toml").write_text(
        text.replace('# reported_at = "day first"', 'reported_at = "day first"')
    )
    assert main(["load", "jobs.csv"]) == 0


def test_a_file_without_column_names_is_refused_in_one_sentence(place, capsys):
    assert (
        main(
            ["recognise", written("jobs.csv", [["1", "2026-01-02", "washer"], ["2", "2026-01-03", "dryer"]])]
        )
        == 1
    )
    assert "no record among the first names the columns" in capsys.readouterr().err


def test_output_names_another_file_for_the_layout(place, capsys):
    Path("jobs.jsonl").write_text(
        "\n".join(
            json.dumps({"ticket": f"T{n}", "machine": "washer", "raised": f"2026-01-0{n}", "ended": "fixed"})
            for n in range(1, 6)
        ),
        encoding="utf-8",
    )
    assert main(["recognise", "jobs.jsonl", "--output", "mine.toml"]) == 0
    assert read_layout(Path("mine.toml").read_text(encoding="utf-8"), "mine.toml").columns["outcome"] == (
        "ended",
    )
    assert not Path("mendstat-store").exists()


def test_the_one_number_of_a_machine_is_its_own_where_no_make_stands_beside_it(place, capsys):
    rng = random.Random(5)
    rows = [["Ticket", "Machine", "No. on plate", "Phoned", "Been", "Result"]]
    for n in range(60):
        machine, month = rng.randrange(24), n // 12 + 1
        kind, plate = ("washer", "dryer", "oven")[machine % 3], 30400000 + machine * 7919 % 100003
        days = [f"2026-0{month}-{n % 12 + 10}", f"2026-0{month}-{n % 12 + 12}"]
        rows.append([f"T{n + 100}", kind, str(plate), *days, "fixed"])
    assert main(["recognise", written("jobs.csv", rows)]) == 0
    assert layout().columns["unit_id"] == ("No. on plate",)
    said = capsys.readouterr().out
    assert "without a make no serial number tells machines apart" in said
    assert said.rstrip().endswith("then: mendstat load jobs.csv")


def test_a_column_left_out_says_how_it_is_used_and_a_known_file_how_it_is_loaded(place, capsys):
    rows = [["Ticket", "Machine", "Phoned", "Been", "Zwu"]]
    for n in range(9):
        said = ("lorp quam", "blim", "zork")[n % 3] if n % 2 else ""
        rows.append([f"T{n}", "washer", f"2026-01-{n + 10}", f"2026-01-{n + 11}", said])
    assert main(["recognise", written("jobs.csv", rows)]) == 0
    text = Path("mendstat-store/layouts/jobs.toml").read_text(encoding="utf-8")
    assert "is left out: neither its header" in text
    assert 'in a line of its own under [columns]: finding = "its name"' in text
    capsys.readouterr()
    assert main(["recognise", "jobs.csv"]) == 0
    assert capsys.readouterr().out.rstrip().endswith("Load it with: mendstat load jobs.csv")
