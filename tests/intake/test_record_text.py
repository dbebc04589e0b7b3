"""One text as the record: read in sections, what it is not read for dropped, nobody's name or number kept."""

import json
from pathlib import Path

import polars as pl
import pytest

from pipeline.intake.layouts import RecordText
from pipeline.intake.record_numbers import is_part_number, looks_like_part_number
from pipeline.intake.record_text import KnownWords, RecordReader
from pipeline.intake.source import Source
from pipeline.load import load, log_check
from pipeline.store.folder import Store
from pipeline.vocabulary import vocabulary

WORKS = ("action", "part_name", "part_no", "quantity")
RECORD = RecordText(
    "Entry",
    {
        "Complaint": ("symptom",),
        "Found": ("finding", "mechanism"),
        "Did": WORKS,
        "Time spent": ("hands_on_min",),
        "Result": ("outcome",),
        "Make": ("make",),
        "Job": ("job_id",),
    },
)
KNOWN = KnownWords(vocabulary(), {"symptom": {"brummt": "humming"}})
READER = RecordReader(RECORD, KNOWN)


def cells(text, reader=READER):
    found = reader.cells(pl.Series("Entry", [text], dtype=pl.String))
    return {column: series[0] for column, series in found.items() if series[0] is not None}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Complaint: won't drain, noisy. Found: wheel stuck.", {"symptom": "won't drain; noisy", "finding": "wheel stuck", "mechanism": "stuck"}),
        # With or without a colon, at the start of a sentence or a line; with one anywhere.
        ("complaint not draining\nFound filter blocked", {"symptom": "not draining", "finding": "filter blocked", "mechanism": "blocked"}),
        ("Mrs Quillby, complaint: not draining - result: fixed", {"symptom": "not draining", "outcome": "fixed"}),
        ("We found it noisy. Then did it", {}),
        # A blank line ends a section.
        ("Complaint: noisy\n\nnot draining either", {"symptom": "noisy"}),
        # The same section twice is one.
        ("Complaint: noisy. Did: cleaned filter. Complaint: leaks.", {"symptom": "noisy; leaks", "action": "cleaned", "part_name": "filter"}),
        # Negation is kept apart.
        ("Complaint: no leaks, noisy", {"symptom": "noisy"}),
        ("Result: not working", {}),
        # The layout's own words are known.
        ("Complaint: brummt", {"symptom": "brummt"}),
        ("Time spent: 1.5 h. Job: J-12/3, urgent. Make: Zwirn & Co. Mrs Quillby.", {"hands_on_min": "1.5 h", "job_id": "J-12/3", "make": "Zwirn & Co"}),
        # Several ways to end wait to be settled; two words for one way do not.
        ("Result: temporary repair, return visit booked", {"outcome": "temporary repair; return visit booked"}),
        ("Result: repaired, working", {"outcome": "repaired"}),
        ("Result: left door open", {}),
        ("", {}),
        (None, {}),
    ],
)  # fmt: skip
def test_text_is_read_in_sections(text, expected):
    assert cells(text) == expected


@pytest.mark.parametrize(
    ("did", "expected"),
    [
        (
            "replaced drain pump 123-456 and door seal",
            ("replaced; replaced", "drain pump; door seal", "123-456; -", None),
        ),
        ("drain pump and door seal replaced", ("replaced; replaced", "drain pump; door seal", None, None)),
        (
            "cleaned filter, replaced d/pump x2, tested",
            ("cleaned; replaced; tested", "filter; d/pump; -", None, "-; 2; -"),
        ),
        ("fitted new inlet v/v part no 00123456", ("fitted new", "inlet v/v", "00123456", None)),
        ("replaced pair of carbon brushes BR-8810", ("replaced", "carbon brushes", "BR-8810", "2")),
        ("replaced 4471-22-9", ("replaced", None, "4471-22-9", None)),
        ("drain pump stuck, freed", ("freed", "drain pump", None, None)),
        ("did not replace the pump. Descaled", ("descaled", None, None, None)),
        # Nobody's number is the number of a part.
        (
            "replaced pump. Tel 07700 900123, key safe 4471, 12 Larkspur Road",
            ("replaced", "pump", None, None),
        ),
        ("replaced pump 01632 960123", ("replaced", "pump", None, None)),
        ("replaced pump 07700900123", ("replaced", "pump", None, None)),
        ("replaced pump 230v on 12.03.2024 at 14:05", ("replaced", "pump", None, None)),
    ],
)
def test_works_are_lists_that_belong_together(did, expected):
    found = cells(f"Did: {did}.")
    assert tuple(found.get(column) for column in WORKS) == expected


def test_text_without_sections_is_read_for_known_words_of_each_column():
    reader = RecordReader(RecordText("Entry", columns=("symptom", "outcome", *WORKS)), KNOWN)
    text = (
        "Called to Quillby, 12 Larkspur Road: washer n/d, replaced d/pump 12-3456, tested, all ok. Open tap."
    )
    assert cells(text, reader) == {
        "symptom": "n/d", "outcome": "all ok", "action": "replaced; tested", "part_name": "d/pump; -", "part_no": "12-3456; -"
    }  # fmt: skip


@pytest.mark.parametrize("text", ["12-34-567", "00123456", "br-8810", "1.23.456-78", "123456/2"])
def test_what_can_be_a_part_number(text):
    assert is_part_number(text)


@pytest.mark.parametrize(
    "text",
    [
        "12.03.2024",
        "2024-03-12",
        "14:05",
        "230v",
        "07700900123",
        "0770090012",
        "01632-960123",
        "12",
        "e12",
        "1" * 11,
        "3/4",
    ],
)
def test_what_cannot(text):
    assert not is_part_number(text)
    assert not looks_like_part_number(text)


SECRETS = ("quillby", "larkspur", "zwirnmann", "900123", "900 123", "4471", "m-1", "spare key", "qx1")
LAYOUT = """
name = "notebook"
required = ["Date"]
[columns]
finished_at = "Date"
[record]
text = "Entry"
[record.sections]
Job = ["job_id"]
Machine = ["unit_type"]
Tag = ["unit_id"]
Called = ["reported_at"]
Complaint = ["symptom"]
Found = ["finding"]
Did = ["action", "part_name", "part_no"]
Result = ["outcome"]
[constants]
make = "own brand"
"""
ENTRIES = {
    "2024-01-03": "For Mrs Quillby, 12 Larkspur Road, QX1 4ZZ, 07700 900123, key safe 4471. Job: 17. Machine: washing machine. "
    "Tag: M-1. Called: 2024-01-02. Complaint: n/d, burning smell. Found: spare key in pump, filter blocked. Did: replaced "
    "drain pump 12-3456; cleaned filter; Zwirnmann showed it to Quillby. Result: fixed.",
    "2024-02-03": "Job: 18. Machine: washing machine. Tag: M-1. Called: Quillby. Complaint: noisy. Result: fixed.",
    "2024-02-05": "Job: 19. Machine: toaster of Quillby. Tag: M-1. Called: 2024-02-04. Did: freed. Result: fixed.",
}


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("notebook") / "store"
    (folder / "layouts").mkdir(parents=True)
    (folder / "layouts/notebook.toml").write_text(LAYOUT)
    text = "Date,Entry\n" + "".join(f"{date},{json.dumps(entry)}\n" for date, entry in ENTRIES.items())
    load(folder, [Source(Path("notebook.csv"), text.encode())], key_path=folder.parent / "key")
    return folder


def test_nothing_else_of_the_text_is_kept(store):
    rows = pl.concat([pl.read_parquet(path) for path in store.glob("received/*.parquet")])
    # Digests and pseudonyms are any letters and digits.
    said = json.dumps(rows.drop("row_digest", "unit_id").to_dicts()).lower()
    assert not [secret for secret in SECRETS if secret in said]
    files = [path for path in store.rglob("*") if path.is_file() and "layouts" not in path.parts]
    kept = "".join(path.read_bytes().decode("latin-1") for path in files).lower()
    assert not [secret for secret in ("quillby", "larkspur", "zwirnmann", "spare key") if secret in kept]


def test_entry_becomes_lines_of_work(store):
    with Store(store).connect() as con:
        lines = con.execute(
            "select part_key, part_name, action, finding, is_worked_part from tables.lines where record = 1 order by line_no"
        ).fetchall()
        job = con.execute(
            "select job_id, unit_type, make, symptom, outcome, machine_no from tables.jobs"
        ).fetchall()
        note = con.execute("select note from normalise.lines where record = 1").fetchall()[0][0]
    assert lines == [
        ("123456", "drain pump", "replace", "filter blocked", True),
        ("name: filter", "filter", "clean", "filter blocked", True),
    ]
    assert job == [("17", "washer", "own brand", "not draining", "fixed", 1)]
    assert "burning smell" in note  # a danger is never lost


def test_what_cannot_be_read_is_set_aside_with_its_column(store):
    (row,) = log_check(store)
    assert {reason["column"]: reason["records"] for reason in row["reasons"]} == {
        "reported_at": [2],
        "unit_type": [3],
    }
    assert row["columns_left_out"] == []
