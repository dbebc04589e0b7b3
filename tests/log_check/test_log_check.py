"""The accounts of the log: what rows carry, what a missing field costs, what is told late, as objects and as text."""

from __future__ import annotations

import csv
import io
import json

import pytest

from pipeline.cli import main
from pipeline.load import load
from pipeline.log_check import as_text, log_check
from pipeline.log_check.costs import FIELDS, costs
from pipeline.mend import take_back, write_list
from pipeline.store import corrections

LOG = """job_id,visit_no,unit_id,make,serial,unit_type,reported_at,finished_at,hands_on_min,symptom,part_no,action,outcome
J1,1,M-1,,,washer,2024-01-02,2024-01-03,40,noisy,P1,replace,fixed
J1,1,M-1,,,washer,2024-01-02,2024-01-03,40,noisy,,test,fixed
J2,1,,Make One,SN 12345,washer,2024-01-09,2024-02-03,,,,clean,fixed
J3,1,,,,dryer,2024-02-05,2024-02-06,30,noisy,P2,replace,
J3,2,,,,dryer,2024-02-05,,,noisy,,,open
J4,1,M-4,,,dryer,last May,2024-04-01,10,noisy,P2,replace,fixed
J5,1,M-4,,,dryer
"""
LATER = """job_id,visit_no,unit_id,unit_type,reported_at,finished_at,outcome
J6,1,M-1,washer,2024-01-20,2024-01-21,fixed
J7,1,M-1,washer,2024-03-20,2024-03-21,fixed
"""


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("log-check")
    (folder / "log.csv").write_text(LOG)
    (folder / "later.csv").write_text(LATER)
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    load(folder / "store", [folder / "later.csv"], key_path=folder / "key")
    return folder / "store"


@pytest.fixture(scope="module")
def accounts(store):
    return log_check(store)


def shares(account):
    return {row["column"]: (row["filled"], row["of"], row["counted"]) for row in account["completeness"]}


def test_completeness_counts_jobs_visits_and_lines(accounts):
    """Counted by hand: three usable jobs, four visits, five lines, three of which say that a part was worked on."""
    found = shares(accounts[0])
    assert found["unit_id"] == (1, 3, "jobs")
    assert found["symptom"] == (2, 3, "jobs")
    assert found["finished_at"] == (3, 4, "visits")
    assert found["hands_on_min"] == (2, 4, "visits")
    assert found["outcome"] == (3, 4, "visits")
    assert found["action"] == (4, 5, "lines")
    assert found["part_no"] == (2, 3, "lines with work on a part")
    assert found["reported_at"] == (3, 3, "jobs")


def test_completeness_by_month_adds_up_to_the_whole(accounts):
    for account in accounts:
        whole = shares(account)
        for column in {row["column"] for row in account["completeness_by_month"]}:
            months = [row for row in account["completeness_by_month"] if row["column"] == column]
            assert sum(row["filled"] for row in months) == whole[column][0]
            assert sum(row["of"] for row in months) == whole[column][1]
    january = [row for row in accounts[0]["completeness_by_month"] if row["month"] == "2024-01"]
    assert {row["column"]: row["filled"] for row in january}["unit_id"] == 1


def test_completeness_is_what_a_plain_count_of_the_sample_gives(sample_store):
    from sample_logs import standard_files

    rows = list(csv.DictReader(io.StringIO(standard_files()["log"].read_text(encoding="utf-8"))))
    log = next(row for row in log_check(sample_store) if row["kind"] == "log")
    visits = {(row["job_id"], row["visit_no"]) for row in rows}
    found = shares(log)
    for column in ("finished_at", "hands_on_min", "technician", "outcome"):
        filled = {(row["job_id"], row["visit_no"]) for row in rows if row[column]}
        assert found[column][:2] == (len(filled), len(visits))
    jobs = {row["job_id"] for row in rows}
    for column in ("unit_id", "symptom", "site_id"):
        assert found[column][:2] == (len({row["job_id"] for row in rows if row[column]}), len(jobs))


def test_rungs_and_rules_name_every_job_once(accounts):
    assert {row["rung"]: row["jobs"] for row in accounts[0]["rungs"]} == {
        "unit_id": 1,
        "make + serial": 1,
        "none": 1,
    }
    assert accounts[0]["joined"] == [{"rule": "same number", "jobs": 3, "share": 1.0}]
    assert sum(row["share"] for row in accounts[0]["rungs"]) == pytest.approx(1, abs=0.001)


def test_missing_fields_are_told_with_the_answers_they_cost(accounts):
    told = {cost["column"]: cost["says"] for cost in accounts[0]["costs"]}
    assert "no repeat visits" in told["finished_at"]
    assert "no machine can be followed" in told["unit_id"]
    assert "reported_at" not in told
    assert list(told) == [column for column in FIELDS if column in told]


def test_installation_dates_cost_nothing_where_a_machine_list_has_them():
    nothing = [{"column": "installed_on", "counted": "jobs", "filled": 0, "of": 9, "share": 0.0}]
    assert costs(nothing, [], has_machine_list=True) == []
    assert len(costs(nothing, [], has_machine_list=False)) == 1


def test_jobs_that_an_earlier_load_should_have_held_are_late(accounts):
    """J6 was reported on 20 January; the earlier load knew reports up to 5 February. J7 came after that."""
    assert accounts[0]["entry_lag"] is None
    assert accounts[1]["entry_lag"] == {"jobs": 2, "late": 1, "days_mean": 16.0, "days_longest": 16}


def test_text_says_first_that_rows_add_up_then_why_then_what_to_do(accounts):
    text = as_text(accounts)
    assert text.startswith("log.csv (log): 7 received = 5 used + 0 repeated + 0 replaced + 2 set aside\n")
    assert "All files: 9 received = 7 used" in text
    order = ["All files:", "set aside: 1 × reported_at: cannot be read", "mendstat mend", "load it again"]
    assert [text.index(words) for words in order] == sorted(text.index(words) for words in order)
    assert "looks like aaaa Aaa); record 6" in text
    assert max(map(len, text.splitlines())) <= 100


def test_text_shouts_where_rows_do_not_add_up(accounts):
    assert "7 received IS NOT 4 used" in as_text([{**accounts[0], "used": 4}])


def test_table_is_printed_and_json_stays_one_object_a_file(store, capsys):
    assert main(["log-check", "--store", str(store), "--format", "table"]) == 0
    assert "mendstat mend" in capsys.readouterr().out
    assert main(["log-check", "--store", str(store)]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["file"] for row in rows] == ["log.csv", "later.csv"]
    assert {"file", "received", "used", "repeated", "replaced", "set_aside", "reasons"} <= rows[0].keys()


def test_mended_cells_are_counted_and_those_without_a_row_are_listed(tmp_path):
    (tmp_path / "log.csv").write_text(LOG)
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    _, path = write_list(tmp_path / "store", tmp_path / "list.csv")
    path.write_text(path.read_text().rstrip() + "2024-03-20\n")
    lost = corrections.Correction("r0123456789ab-3", "reported_at", "2024-03-01")
    corrections.keep(tmp_path / "store" / "corrections", [lost])
    take_back(tmp_path / "store", path)
    (account,) = log_check(tmp_path / "store")
    assert (account["corrected"], account["set_aside"]) == (1, 1)
    assert account["corrections_gone"] == [{"row": "r0123456789ab-3", "column": "reported_at"}]
    assert "the row is gone: r0123456789ab-3" in as_text([account])


def test_suspected_and_missing_visits_are_counted_and_named(tmp_path):
    header = "job_id,visit_no,unit_id,unit_type,reported_at,finished_at,action,outcome\n"
    first = header + (
        "J1,1,M-1,washer,2024-01-02,2024-01-03,clean,fixed\nJ2,1,M-2,washer,2024-01-04,2024-01-05,clean,fixed\n"
        "J3,1,M-3,washer,2024-01-08,2024-01-09,clean,fixed\n"
    )
    newer = header + (
        "J1,1,M-1,washer,2024-01-02,2024-01-03,clean,fixed\nJ9,1,M-1,washer,2024-01-02,2024-01-03,clean,fixed\n"
        "J3,1,M-3,washer,2024-01-08,2024-01-09,clean,fixed\n"
    )
    for name, text in (("first.csv", first), ("newer.csv", newer)):
        (tmp_path / name).write_text(text)
        load(tmp_path / "store", [tmp_path / name], key_path=tmp_path / "key")
    one, two = log_check(tmp_path / "store")
    assert (one["missing_visits"], one["missing"][0]["job_id"], one["missing"][0]["missing_from"]) == (
        1,
        "J2",
        "newer.csv",
    )
    assert (two["suspected"], two["suspects"][0]["of_job_id"], two["suspects"][0]["of_file"]) == (
        1,
        "J1",
        "first.csv",
    )
    text = as_text([one, two])
    assert "suspected: 1 visit say" in text
    assert "kept: 1 visit that a newer file leaves out" in " ".join(text.split())
    assert main(["log-check", "--store", str(tmp_path / "store")]) == 0
