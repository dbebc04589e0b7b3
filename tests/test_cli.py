"""The command line: exit codes, one sentence for a user's mistake, nothing but the result on standard output."""

import csv
import io
import json
import os
import subprocess
import sys

import polars as pl
import pytest

from pipeline.cli import main
from pipeline.show import render

LOG = """job_id,unit_id,unit_type,reported_at,finished_at,hands_on_min,part_no,action,outcome
1,A1,washer,2026-01-02,2026-01-03,40,P1,replace,fixed
2,A2,washer,2026-01-05,2026-01-06,35,P1,clean,fixed
3,A1,washer,2026-01-20,2026-01-21,30,P1,replace,fixed
4,A3,dryer,2026-02-01,2026-02-02,50,P2,replace,fixed
5,A3,dryer,not a date,2026-02-09,50,P2,replace,fixed
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "log.csv").write_text(LOG, encoding="utf-8")
    return tmp_path


@pytest.fixture
def loaded(place, capsys):
    assert main(["load", "log.csv"]) == 0
    capsys.readouterr()
    return place


def test_load_says_what_was_received_and_sets_the_broken_row_aside(place, capsys):
    assert main(["load", "log.csv"]) == 0
    assert "5 rows received" in capsys.readouterr().out
    assert main(["log-check"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["received"], row["used"], row["set_aside"]) == (5, 4, 1)
    assert row["reasons"][0] == {
        "column": "reported_at",
        "reason": "cannot be read as a date or time",
        "count": 1,
        "records": [5],
        "shape": "aaa a aaaa",
    }


def test_json_is_a_list_of_objects_and_nothing_else_is_printed(loaded, capsys):
    assert (
        main(
            ["measure", "repeat-visits", "--by", "part_no", "--complete-to", "2026-03-01", "--format", "json"]
        )
        == 0
    )
    printed = capsys.readouterr()
    rows = json.loads(printed.out)
    assert {row["part_no"] for row in rows} == {"P1", "P2"}
    assert all(row["value"] is None for row in rows if row["sample"] == "too few")
    assert printed.err == ""


def test_csv_and_parquet_hold_what_json_holds(loaded, capsys):
    command = ["measure", "part-failure-rate", "--basis", "shares"]
    assert main([*command, "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert main([*command, "--format", "csv"]) == 0
    listed = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert main([*command, "--format", "parquet", "--output", "out.parquet"]) == 0
    frame = pl.read_parquet("out.parquet").to_dicts()
    for name in ("part_no", "numerator", "denominator", "low", "sample"):
        assert (
            [str(row[name]) for row in rows]
            == [row[name] for row in listed]
            == [str(row[name]) for row in frame]
        )


def test_dates_bound_the_window_half_open(loaded, capsys):
    window = ["--from", "2026-01-02", "--complete-to", "2026-01-05"]
    assert main(["measure", "fixed-share", *window, "--format", "json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["denominator"], row["from"], row["complete_to"]) == (1, "2026-01-02", "2026-01-05")


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["measure", "fixed-share", "--by", "colour"], 2, "it can be"),
        (["measure", "fixed-share", "--from", "yesterday"], 2, "2026-03-01"),
        (
            ["measure", "fixed-share", "--from", "2026-02-01", "--complete-to", "2026-01-01"],
            2,
            "must lie before",
        ),
        (["measure", "time-to-fix", "--by", "technician"], 2, "--people"),
        (["measure", "repeat-visits", "--days", "0"], 2, "between 1 and 3650"),
        (["measure", "part-failure-rate", "--basis", "machine-list"], 1, "--machines"),
        (["measure", "fixed-share", "--format", "parquet"], 2, "--output"),
        (["load"], 2, "at least one file"),
        (["load", "missing.csv"], 3, "missing.csv"),
        (["load", "."], 3, "."),
        (["measure", "fixed-share", "--store", "nowhere"], 1, "mendstat load"),
        (["reread", "--store", "nowhere"], 1, "mendstat load"),
    ],
)
def test_a_users_mistake_ends_in_one_sentence_and_its_exit_code(loaded, capsys, arguments, code, says):
    assert main(arguments) == code
    printed = capsys.readouterr()
    assert says in printed.err
    assert printed.err.startswith("mendstat: ")
    assert len(printed.err.strip().splitlines()) == 1
    assert printed.out == ""


def test_unknown_layout_is_a_question_and_exit_code_1(loaded, capsys):
    (loaded / "other.csv").write_text("colour,size\nred,1\n", encoding="utf-8")
    assert main(["load", "other.csv"]) == 1
    assert "other.csv" in capsys.readouterr().err


def test_demo_refuses_a_store_that_holds_another_log(loaded, capsys):
    assert main(["demo", "--no-dashboard"]) == 2
    assert "--store" in capsys.readouterr().err


def test_a_reader_that_has_seen_enough_ends_the_command_quietly(loaded):
    command = f"{sys.executable} -m pipeline.cli measure fixed-share --format json | head -c 1"
    done = subprocess.run(
        ["bash", "-c", command], capture_output=True, text=True, env={**os.environ}, check=False
    )
    assert done.stderr == ""


def test_shared_export_comes_with_a_statement_of_what_was_done(sample_store, tmp_path, capsys):
    assert (
        main(
            [
                "export",
                "--share",
                "--store",
                str(sample_store),
                "--format",
                "csv",
                "--output",
                str(tmp_path / "out.csv"),
            ]
        )
        == 0
    )
    assert "ISO/IEC 20889" in (tmp_path / "out-statement.txt").read_text()
    assert (tmp_path / "out.csv").read_text().splitlines()[0].startswith("counted,unit_type,month")
    assert "out-statement.txt" in capsys.readouterr().err


def test_own_export_has_a_row_for_every_used_line_and_nobody_who_did_the_work(sample_store, sample, tmp_path):
    assert (
        main(
            ["export", "--store", str(sample_store), "--format", "csv", "--output", str(tmp_path / "own.csv")]
        )
        == 0
    )
    rows = list(csv.DictReader((tmp_path / "own.csv").read_text().splitlines()))
    assert len(rows) == sample.execute("select count(*) from tables.lines").fetchone()[0]
    assert "technician" not in rows[0]
    charges = sample.execute("select sum(charge_minor) from tables.visits").fetchone()[0]
    of_visits = {(row["job_id"], row["visit_no"]): float(row["charge"]) for row in rows if row["charge"]}
    assert sum(of_visits.values()) == pytest.approx(charges / 100)


def test_texts_that_a_spreadsheet_would_run_are_made_harmless():
    frame = pl.DataFrame({"word": ["=1+1", "@x", "-2", "plain", None], "number": [-1, 2, 3, 4, 5]})
    assert render(frame, "csv").decode().splitlines()[1:] == ["'=1+1,-1", "'@x,2", "'-2,3", "plain,4", ",5"]
