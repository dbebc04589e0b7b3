"""A column that tells who somebody is may not pass for words of the trade."""

from __future__ import annotations

import csv
import random
from pathlib import Path

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.load import load
from tests.privacy.identifiers import identifiers

LAYOUT = """name = "ours"
required = ["Job", "Kind", "Day"]
[columns]
job_id = "Job"
unit_type = "Kind"
reported_at = "Day"
"""


def write(folder: Path, columns: dict[str, list[str]]) -> Path:
    count = max(len(cells) for cells in columns.values())
    rows = [{"Job": f"J{n}", "Kind": "washer", "Day": f"2025-03-{1 + n % 28:02d}"} for n in range(count)]
    for name, cells in columns.items():
        for row, cell in zip(rows, cells, strict=True):
            row[name] = cell
    with (folder / "log.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return folder / "log.csv"


def take(folder: Path, lines: str, columns: dict[str, list[str]]) -> None:
    (folder / "store" / "layouts").mkdir(parents=True)
    (folder / "store" / "layouts" / "ours.toml").write_text(LAYOUT + lines, encoding="utf-8")
    load(folder / "store", [write(folder, columns)], key_path=folder / "key")


@pytest.mark.parametrize(
    "header",
    [
        *(
            "Customer name",
            "Phone",
            "Tel. no",
            "E-mail",
            "Address line 1",
            "Kundenname",
            "Klant",
            "Contact person",
            "Key safe code",
        ),
        *("Surname", "Mobile", "Straße", "Customer's address", "Site name"),
    ],
)
def test_header_that_names_people_may_not_be_read_as_a_word(tmp_path, header):
    with pytest.raises(
        CannotAnswerError, match=r"log\.csv: column 4 .* says by its header who somebody is"
    ) as said:
        take(tmp_path, f'symptom = "{header}"\n', {header: ["leaks"]})
    assert "leave it out of the layout" in str(said.value)
    assert not list((tmp_path / "store" / "received").glob("*"))


@pytest.mark.parametrize(
    "header",
    [
        "Customer complaint",
        "Customer reports",
        "Part name",
        "Model name",
        "Name",
        "Contactor",
        "Street door",
        "Notes",
    ],
)
def test_other_headers_may(tmp_path, header):
    take(tmp_path, f'symptom = "{header}"\n', {header: ["leaks"]})


def telephones(count: int) -> list[str]:
    return [each.text for each in identifiers(12 * count, seed=5) if each.kind == "telephone"]


def names(count: int) -> list[str]:
    return [each.text for each in identifiers(12 * count, seed=6) if each.kind == "name"]


@pytest.mark.parametrize(
    ("column", "cells", "what"),
    [
        ("make", telephones(12), "telephone numbers"),
        ("model", telephones(12), "telephone numbers"),
        ("part_no", telephones(12), "telephone numbers"),
        ("symptom", names(12), "names, numbers or addresses of people"),
        ("symptom", [name.split()[-1] for name in names(40)], "single words with a capital"),
        ("make", names(12), "names or addresses of people"),
        ("finding", telephones(12), "names, numbers or addresses of people"),
    ],
)
def test_column_full_of_people_stops_the_load_and_leaves_nothing(tmp_path, column, cells, what):
    with pytest.raises(
        CannotAnswerError,
        match=rf"log\.csv: column 4, which the layout ours reads as {column}, holds mostly {what}",
    ) as said:
        take(tmp_path, f'{column} = "What"\n', {"What": cells})
    assert not [cell for cell in cells if cell in str(said.value)]
    assert not list((tmp_path / "store" / "received").glob("*"))


@pytest.mark.parametrize(
    ("column", "cells"),
    [
        ("make", ["Zwirnox", "Kellora", "Pim & Sohn", "Speed Prince", "Thomas", "Henry"]),
        ("model", ["WX 1400", "0715 300", "K 4500-2", "Duo 12", "07 900", "DX-100"]),
        ("part_no", ["00123456", "481010354757", "123-456 78", "0012345678", "1.23.456-78", "CP-5510"]),
        ("symptom", ["not draining", "leaks", "Undicht", "Pumpt nicht", "Lawaai", "noisy"]),
        ("fault_code", ["E12", "F05", "E-17", "F:33", "1200", "C1"]),
    ],
)
def test_columns_as_they_are_pass(tmp_path, column, cells):
    draw = random.Random(1)
    take(tmp_path, f'{column} = "What"\n', {"What": [draw.choice(cells) for _ in range(60)]})


def test_a_few_cells_in_the_wrong_place_are_no_reason_to_refuse_a_log(tmp_path):
    take(tmp_path, 'make = "What"\n', {"What": ["Zwirnox"] * 30 + telephones(12)})
