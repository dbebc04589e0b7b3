"""Open repair data as published: every row received, and the shifted ones caught."""

import csv
from pathlib import Path

import polars as pl
import pytest

from pipeline.load import load, log_check
from pipeline.store.folder import Store

FOLDER = Path(__file__).parents[2] / ".." / "shared" / "open_data" / "open_repair_data"
# Rows received and set aside; the row counts are those of the extract's own description.
FILES = {
    "FixitClinic_201909_v0.1.csv": (477, 2),
    "RepairCafeWales_202507_v0.3.csv": (20190, 0),
    "RepairConnects_202507_v0.3.csv": (2885, 0),
    "vacuum_fault_types.csv": (2303, 0),
}
pytestmark = pytest.mark.skipif(not FOLDER.exists(), reason="open repair data is not beside the project")


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("open")
    load(folder / "store", [FOLDER / name for name in FILES], key_path=folder / "key")
    return folder / "store"


def received(store):
    store = Store(store)
    return {entry.name: pl.read_parquet(store.received / entry.parquet) for entry in store.manifest.active}


def test_every_row_is_received_and_accounted_for(store):
    found = {row["file"]: (row["received"], row["set_aside"]) for row in log_check(store)}
    assert found == FILES
    for row in log_check(store):
        assert row["received"] == row["used"] + row["repeated"] + row["replaced"] + row["set_aside"]


def test_shifted_rows_are_set_aside_by_record_and_show_a_shape_only(store):
    (fixit,) = (row for row in log_check(store) if row["file"].startswith("Fixit"))
    assert sorted(record for reason in fixit["reasons"] for record in reason["records"]) == [152, 284]


@pytest.mark.parametrize("name", FILES)
def test_cells_are_those_of_the_csv_module(store, name):
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    job, day = ("id_ords" if "vacuum" in name else "id"), ("date" if "Fixit" in name else "event_date")
    frame = received(store)[name]
    assert frame["job_id"].to_list() == [row[job].strip() or None for row in rows]
    assert frame["outcome"].to_list() == [row["repair_status"].strip() or None for row in rows]
    shifted = {n for n, row in enumerate(rows) if "Clinic" in row[day]}
    assert all(
        moment == row[day]
        for n, (moment, row) in enumerate(zip(frame["reported_at"], rows, strict=True))
        if n not in shifted
    )


def test_ids_that_recur_in_another_file_are_not_the_same_jobs(store):
    frames = received(store)
    vacuum, wales = (
        frames[name].select("source", "job_id")
        for name in ("vacuum_fault_types.csv", "RepairCafeWales_202507_v0.3.csv")
    )
    assert vacuum.join(wales, on="job_id").height > 0
    assert vacuum.join(wales, on=["source", "job_id"]).height == 0
    assert set(vacuum["source"].unique()) == {
        f"vacuum faults, {who}" for who in ("Repair Café International", "Repair Cafe Wales", "Fixit Clinic")
    }


def test_problem_texts_are_reduced_to_known_words(store):
    for frame in received(store).values():
        assert frame["note"].drop_nulls().str.len_chars().max() < 400
        assert "Unknown" not in frame["make"].unique()
