"""Safety reports stand first, each one listed, none judged too few; a notice says what to check on the plate."""

from datetime import datetime

import polars as pl
import pytest

from pipeline.errors import WrongUseError
from pipeline.measures import Question, evaluate
from pipeline.measures.result import CONTRACT
from pipeline.measures.safety_words import (
    after_visit_words,
    first_of_all,
    notice_words,
    notices,
    plate_words,
    report_words,
)
from pipeline.show import render
from tests.builds import built

LOG = """
job_id | unit_id | unit_type | make | model | reported_at | finished_at | symptom | action | part_name | outcome
J1 | U1 | washer | Orle | W 1 | 2026-01-01 | 2026-01-02 | noisy | test | | fixed
J2 | U1 | washer | Orle | W 1 | 2026-01-09 | 2026-01-10 | smoke | test | | fixed
J3 | U2 | dryer  | Orle | D 1 | 2026-03-01 | 2026-03-02 | no burning smell now | replace | TCO | fixed
J4 | U3 | dryer  | Orle | D 1 | 2026-02-01 | 2026-02-02 | got a shock | test | | fixed
"""


def test_each_report_is_a_row_of_the_contract_soon_after_our_visit_first_then_the_newest():
    result = evaluate(built(LOG), "safety-reports")
    start = result.columns.index("value")
    assert result.columns[start : start + len(CONTRACT)] == list(CONTRACT)
    assert result["job_id"].to_list() == ["J2", "J3", "J4"]
    assert result["days_since_own_visit"].to_list() == [7, None, None]
    assert result["danger"].to_list() == ["smoke", "burning smell", "shock"]
    assert result.select("value", "unit", "sample").unique().rows() == [(1.0, "report", "enough")]
    assert result["low"].null_count() == result["high"].null_count() == 3
    assert result["note"].str.contains("no interval").all()


def test_window_leaves_no_report_without_a_day_out():
    undated = LOG + "J5 | U4 | oven | Orle | O 1 | soon | | smell of gas | test | | open"
    question = Question(from_at=datetime(2026, 2, 1), complete_to=datetime(2026, 3, 1))
    assert evaluate(built(undated), "safety-reports", question)["job_id"].to_list() == ["J4", "J5"]


def test_log_without_a_report_gives_no_row_and_no_refusal():
    con = built("job_id | unit_type | reported_at | symptom\nJ1 | washer | 2026-01-01 | smell")
    result = evaluate(con, "safety-reports")
    assert result.height == 0
    assert "value" in result.columns
    assert render(result, "json") == b"[]\n"
    assert first_of_all(con) == ""


def test_reports_are_never_grouped():
    with pytest.raises(WrongUseError, match="no groups"):
        evaluate(built(LOG), "safety-reports", Question(by=("make",)))


def test_table_lists_reports_without_pretending_to_measure():
    text = render(evaluate(built(LOG), "safety-reports"), "table").decode()
    assert "likely between" not in text
    assert "burning smell" in text


def test_sample_lists_the_reports_that_were_planted(sample):
    result = evaluate(sample, "safety-reports")
    assert result.height == 12
    assert set(result["danger"]) == {"burning smell", "shock"}
    days = result["reported_on"].to_list()
    assert days == sorted(days, reverse=True)


def test_reports_notices_and_cut_outs_stand_first_in_words():
    con = built(LOG, notices="make | model | text\nOrle | D 1 | unplug it\nQuill | | look at it\nOrle | |")
    assert first_of_all(con).splitlines() == [
        "Safety reports: 3, 1 of them soon after our own visit.",
        "  2026-01-09: washer, smoke, 7 days after our own visit (J2)",
        "  2026-03-01: dryer, burning smell (J3)",
        "  2026-02-01: dryer, shock (J4)",
        "Notices that concern machines in the log: 1.",
        "  Orle D 1: unplug it. May concern 2 machines, last reported 2026-03-01. No serials are named: take it that every one is meant.",
        "1 notice could not be read: see log-check.",
        "For the trainer: 1 job replaced a thermal cut-out without a cause found.",
    ]


def test_no_list_is_not_the_same_as_no_notice():
    assert notices(built(LOG)) is None
    assert notices(built(LOG, notices="make | text\nOrle |")) == []


def test_notice_without_a_model_and_without_machines():
    con = built(
        LOG,
        notices="make | text | serial_from | serial_to | reference | dated_on\nQuill | Look. | A1 | B2 | R 7 | 2025-01-02",
    )
    assert notice_words(notices(con)[0]) == (
        "Quill (every model): Look (R 7, 2025-01-02). No machine in the log is of that make and model. "
        "Check the plate: serial from A1 to B2."
    )


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("A1", None, "Check the plate: serial from A1."),
        (None, "B2", "Check the plate: serial up to B2."),
        (None, None, "No serials are named: take it that every one is meant."),
    ],
)
def test_plate_words(first, last, said):
    assert plate_words({"serial_from": first, "serial_to": last}) == said


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (None, ""),
        (0, "on the day of our own visit"),
        (1, "1 day after our own visit"),
        (1200, "1,200 days after our own visit"),
    ],
)
def test_days_after_our_own_visit(days, said):
    assert after_visit_words(days) == said


def test_report_without_a_kind_or_a_day_is_still_said():
    row = {
        "unit_type": "kind unknown",
        "reported_on": None,
        "danger": "smoke; fire",
        "days_since_own_visit": None,
        "job_id": None,
    }
    assert report_words(row) == "day not known: machine, smoke and fire"


def test_log_check_prints_what_stands_first_before_the_table(sample_store, capsysbinary):
    from pipeline.cli import main

    assert main(["log-check", "--format", "table", "--store", str(sample_store)]) == 0
    out = capsysbinary.readouterr().out.decode()
    assert out.startswith("Safety reports: 12.")
    assert "log.csv" in out
    assert main(["log-check", "--format", "csv", "--store", str(sample_store)]) == 0
    assert pl.read_csv(capsysbinary.readouterr().out).height == 5


def test_demo_says_reports_before_any_figure(sample_store):
    from pipeline.demo import demo_text

    text = demo_text(sample_store)
    assert text.index("Safety reports: 12.") < text.index("part-failure-rate")


def test_report_in_a_note_is_listed_and_nobody_s_name_is_kept(tmp_path):
    from pipeline.load import load
    from pipeline.store.folder import Store

    log = tmp_path / "log.csv"
    log.write_text(
        "job_id,unit_type,reported_at,note\n"
        'J1,dryer,2026-01-05,"Mrs Quillby says no burning smell now, spare key under the pot"\n'
        'J2,dryer,2026-01-06,"It smells as if something burns, says Mr Zwirnfeld"\n'
        "J3,washer,2026-01-07,shock absorbers replaced; smell gone; trips the breaker\n",
        encoding="utf-8",
    )
    load(tmp_path / "store", [log], key_path=tmp_path / "key")
    with Store(tmp_path / "store").connect() as con:
        found = con.execute("select job_id, danger, told_in from facts.safety_reports order by 1").fetchall()
    assert found == [("J1", "burning smell", "note"), ("J2", "burning smell", "note")]
    kept = b"".join(path.read_bytes() for path in (tmp_path / "store").rglob("*") if path.is_file())
    assert not any(
        name in kept for name in (b"Quillby", b"quillby", b"Zwirnfeld", b"zwirnfeld", b"under the pot")
    )
