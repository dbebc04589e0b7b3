"""Totals, repeated headers and constants: what a layout adds to the cells, and what is no line of work."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.intake.source import Source
from pipeline.load import load, log_check
from pipeline.store.folder import Store

LAYOUT = """
name = "ours"
required = ["Job", "Day"]
[columns]
job_id = "Job"
reported_at = "Day"
charge = "Sum"
[constants]
unit_type = "w/m"
unit_id = "the only one"
[set_aside]
"Job" = ["Total", "Grand total"]
"""
LOG = b"""Job,Day,Sum
1,2026-01-05,10.50
Job,Day,Sum
2,2026-01-06,9
TOTAL:,,19.50
 job , DAY,sum
Job,2026-01-07,1
grand  total,,19.50
3,2026-01-08
"""


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("own") / "store"
    (folder / "layouts").mkdir(parents=True)
    (folder / "layouts/ours.toml").write_text(LAYOUT)
    load(folder, [Source(Path("jobs.csv"), LOG)], key_path=folder.parent / "key")
    return folder


def test_rows_that_are_no_line_of_work_are_set_aside_with_the_reason(store):
    (row,) = log_check(store)
    reasons = {reason["reason"]: (reason["column"], reason["records"]) for reason in row["reasons"]}
    assert reasons == {
        "the header again": ("row", [2, 5]),
        "a total, no line of work": ("row", [4, 7]),
        "2 fields where the header has 3": ("row", [8]),
    }
    assert (row["received"], row["used"]) == (8, 3)


def test_cells_of_a_total_say_nothing_about_the_columns(store):
    (path,) = store.glob("received/*.parquet")
    rows = pl.read_parquet(path)
    assert rows["row_digest"].null_count() == 0
    without = rows.filter(pl.col("row_problem").is_not_null()).select(
        "job_id", "reported_at", "charge", "unit_type"
    )
    assert without.null_count().row(0) == (5, 5, 5, 5)


def test_constant_stands_in_every_row_as_if_it_were_a_cell(store):
    with Store(store).connect() as con:
        said = con.execute(
            "select distinct unit_type, unit_id from normalise.lines where problem_reason is null"
        ).fetchall()
    ((kind, unit),) = said
    assert kind == "washer"
    assert unit != "the only one"  # an identity is replaced wherever it comes from
