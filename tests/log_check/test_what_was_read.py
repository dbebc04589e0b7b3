"""The log check tells what was read as something else: words for no charge, numbers in a circle."""

import pytest

from dashboards.questions import accounts
from pipeline.load import load
from pipeline.log_check import as_text, log_check

LOG = """job_id,unit_id,unit_type,reported_at,finished_at,part_no,action,charge,outcome
J1,M1,washer,2026-01-02,2026-01-03,P1,replace,£85.00,fixed
J2,M2,washer,2026-01-03,2026-01-04,P2,replace,FOC,fixed
J3,M3,washer,2026-01-04,2026-01-05,P2,replace,foc,fixed
J4,M4,washer,2026-01-05,2026-01-06,P3 (was P3-old),clean,n/c,fixed
J5,M5,washer,2026-01-05,2026-01-06,P3,clean,,fixed
"""
PARTS = """part_no,part_name,replaced_by
P1,drain pump,P2
P2,drain pump,P1
P3,belt,
"""


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("read")
    (folder / "log.csv").write_text(LOG, encoding="utf-8")
    (folder / "parts.csv").write_text(PARTS, encoding="utf-8")
    load(folder / "store", [folder / "log.csv"], parts=folder / "parts.csv", key_path=folder / "key")
    return {file["kind"]: file for file in log_check(folder / "store")}, folder / "store"


def test_words_for_no_charge_are_an_amount_of_nothing_and_told_with_their_number(files):
    found, store = files
    assert found["log"]["nothing_charged"] == [
        {"column": "charge", "word": "foc", "count": 2},
        {"column": "charge", "word": "n/c", "count": 1},
    ]
    from pipeline.store.folder import Store

    with Store(store).connect() as con:
        charges = con.execute("select charge_minor from tables.visits order by visit_key").fetchall()
    assert sorted(charges, key=str) == [(0,), (0,), (0,), (8500,), (None,)]
    assert 'charge: 2 rows say "foc": read as 0, nothing charged' in as_text(list(found.values()))
    assert "Charge: 2 rows say “foc”, read as nothing charged." in accounts.file_block(found["log"])


def test_numbers_that_replace_each_other_in_a_circle_are_named_and_kept_apart(files):
    found, store = files
    assert found["parts"]["circular"] == ["P1", "P2"]
    assert "replaced_by: P1, P2 replace each other in a circle" in as_text(list(found.values()))
    assert "P1 and P2 replace each other in a circle" in accounts.file_block(found["parts"])
    from pipeline.store.folder import Store

    with Store(store).connect() as con:
        keys = con.execute("select part_key, count(*) from tables.lines group by 1 order by 1").fetchall()
    assert keys == [("P1", 1), ("P2", 2), ("P3", 2)]


def test_how_full_columns_are_is_told_with_the_month_in_which_one_was_hardly_written_down():
    account = {
        **dict.fromkeys(("received", "used"), 40),
        **dict.fromkeys(("repeated", "replaced", "set_aside", "corrected"), 0),
        "file": "log.csv",
        "kind": "log",
        "reasons": [],
        "corrections_gone": [],
        "rungs": [{"rung": "number", "jobs": 30, "share": 0.75}, {"rung": "none", "jobs": 10, "share": 0.25}],
        "completeness": [{"column": "outcome", "counted": "visits", "filled": 30, "of": 40, "share": 0.75}],
        "completeness_by_month": [
            {
                "month": "2026-01",
                "column": "outcome",
                "counted": "visits",
                "filled": 3,
                "of": 12,
                "share": 0.25,
            },
            {
                "month": "2026-02",
                "column": "outcome",
                "counted": "visits",
                "filled": 26,
                "of": 26,
                "share": 1.0,
            },
            {
                "month": "2026-03",
                "column": "outcome",
                "counted": "visits",
                "filled": 0,
                "of": 2,
                "share": 0.0,
            },
        ],
    }
    text = as_text([account])
    assert "machine known by: number 30 (75%), none 10 (25%)" in text
    assert "filled in: outcome 75%" in text
    assert "outcome in 2026-01: filled in 3 of 12 visits only" in text
    assert "2026-03" not in text
