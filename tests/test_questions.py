"""A load asks instead of guessing: one question, the line that answers it, and then every row is in."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.cli import main
from pipeline.draft_layout import MARK, TOP, Answer, Question, with_question
from pipeline.intake.layout_files import read_layout
from pipeline.store.folder import Store
from pipeline.vocabulary import vocabulary
from pipeline.vocabulary.paperwork import is_paperwork

NO_REPORT = """job_id;unit_id;unit_type;finished_at;hands_on_min;charge;outcome;Rang on;Customer
1;A1;washer;03/04/26;1h30;85,00 €;fixed;01/04/26;Quillby
2;A2;washer;13/04/26;45;1.234,50 €;NFF;12/04/26;Quillby
3;A3;dryer;14/04/26;1:15;FOC;fixed;13/04/26;Quillby
"""
NO_KIND = """job_id,unit_id,reported_at,finished_at,hands_on_min,outcome
1,A1,13/04/26,14/04/26,90 min,fixed
2,A2,03/04/26,04/04/26,½,fixed
"""
PAPERS = """job_id,unit_id,unit_type,reported_at,finished_at,hands_on_min,outcome
1,A1,washer,2026-01-02,2026-01-03,40,Closed
2,A2,washer,2026-01-05,2026-01-06,35,Invoiced
3,A1,dryer,2026-02-01,2026-02-02,50,Paid
4,A1,dryer,2026-03-01,2026-03-02,50,closed
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path


def written(name, text, encoding="utf-8"):
    Path(name).write_text(text, encoding=encoding)
    return name


def asked(capsys, *arguments):
    """Exit code 1, and the one question; nothing of the load is kept."""
    assert main(["load", *arguments]) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert not list(Path("mendstat-store/received").glob("*.parquet"))
    assert not list(Path("mendstat-store").glob("fleet-*"))
    return printed.err


def answered(layout, *lines):
    """Take the # away in front of lines, as a person would in an editor."""
    path = Path(f"mendstat-store/layouts/{layout}.toml")
    text = path.read_text(encoding="utf-8")
    for line in lines:
        assert f"\n# {line}" in text
        text = text.replace(f"\n# {line}", f"\n{line}", 1)
    path.write_text(text, encoding="utf-8")


def accounts(capsys):
    capsys.readouterr()
    assert main(["log-check"]) == 0
    return [(row["received"], row["used"]) for row in json.loads(capsys.readouterr().out)]


def lines(columns):
    with Store(Path("mendstat-store")).connect() as con:
        return con.execute(f"select {columns} from normalise.lines order by row_no").fetchall()


def loads_and_asks_nothing_more(capsys, name, rows):
    assert main(["load", name]) == 0
    assert accounts(capsys) == [(rows, rows)]
    assert main(["load", name]) == 0
    assert "already loaded" in capsys.readouterr().out


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_log_without_a_day_of_report_asks_for_it_and_is_then_read_whole(place, capsys, encoding):
    name = written("jobs.csv", NO_REPORT, encoding)
    question = asked(capsys, name)
    assert "when each problem was reported" in question
    assert 'reported_at = "Rang on"' in question
    assert "jobs.toml" in question
    answered("jobs", 'reported_at = "Rang on"')
    loads_and_asks_nothing_more(capsys, name, 3)
    assert lines("cast(reported_on as varchar), hands_on_min, charge_minor, currency")[:2] == [
        ("2026-04-01", 90, 8500, "EUR"),
        ("2026-04-12", 45, 123450, "EUR"),
    ]


def test_day_of_report_may_never_have_been_written_down(place, capsys):
    name = written("jobs.csv", NO_REPORT)
    asked(capsys, name)
    answered("jobs", 'not_recorded = ["reported_at"]')
    loads_and_asks_nothing_more(capsys, name, 3)
    assert lines("reported_on") == [(None,)] * 3


@pytest.mark.parametrize("kind", ["washer", "kind unknown"])
def test_log_without_a_kind_of_machine_asks_for_it(place, capsys, kind):
    name = written("jobs.csv", NO_KIND)
    question = asked(capsys, name)
    assert "what kind of machine" in question
    assert "when each problem was reported" not in question
    answered("jobs", f'unit_type = "{kind}"')
    loads_and_asks_nothing_more(capsys, name, 2)
    assert lines("unit_type, hands_on_min") == [(kind, 90), (kind, 30)]


def test_log_without_either_asks_one_question_after_the_other_and_both_stand_in_the_draft(place, capsys):
    text = "job_id,finished_at,outcome,action\n1,2026-01-03,fixed,clean\n"
    name = written("jobs.csv", text)
    assert "reported" in asked(capsys, name)
    answered("jobs", 'not_recorded = ["reported_at"]')
    assert "kind of machine" in asked(capsys, name)
    answered("jobs", 'unit_type = "kind unknown"')
    loads_and_asks_nothing_more(capsys, name, 1)


def test_words_about_paperwork_are_asked_for_and_nothing_is_fixed_on_the_strength_of_an_invoice(
    place, capsys
):
    name = written("jobs.csv", PAPERS)
    question = asked(capsys, name)
    assert '"Closed" (2 rows), "Invoiced" (1 row), "Paid" (1 row)' in question
    assert "[values.outcome]" in question
    answered("jobs", *(f'"{word}" = "unknown"' for word in ("Closed", "Invoiced", "Paid")))
    loads_and_asks_nothing_more(capsys, name, 4)
    assert lines("outcome") == [("unknown",)] * 4
    with Store(Path("mendstat-store")).connect() as con:
        assert con.execute("select count(*) from tables.visits where outcome = 'fixed'").fetchall() == [(0,)]


def test_word_about_paperwork_left_out_of_the_answer_is_asked_again(place, capsys):
    name = written("jobs.csv", PAPERS)
    asked(capsys, name)
    answered("jobs", '"Closed" = "fixed"', '"Paid" = "unknown"')
    question = asked(capsys, name)
    assert '"Invoiced" (1 row)' in question
    assert "Closed" not in question.splitlines()[0]


def test_new_word_under_an_answered_layout_is_added_to_it(place, capsys):
    name = written("jobs.csv", PAPERS)
    asked(capsys, name)
    answered("jobs", *(f'"{word}" = "unknown"' for word in ("Closed", "Invoiced", "Paid")))
    assert main(["load", name]) == 0
    later = written("later.csv", PAPERS.replace("Invoiced", "Archived").replace("2026-01", "2026-04"))
    capsys.readouterr()
    assert main(["load", later]) == 1
    assert '"Archived" (1 row)' in capsys.readouterr().err
    answered("jobs", '"Archived" = "unknown"')
    assert main(["load", later]) == 0


def test_dates_that_can_be_read_both_ways_are_asked_for_once(place, capsys):
    text = "job_id,unit_type,reported_at,finished_at,outcome\n1,washer,03/04/26,05/04/26,fixed\n2,washer,05/04/26,06/04/26,fixed\n"
    name = written("jobs.csv", text)
    question = asked(capsys, name)
    assert 'reported_at = "day first"    # 03/04/26 is 3 April 2026' in question
    answered("jobs", 'reported_at = "month first"')
    loads_and_asks_nothing_more(capsys, name, 2)
    assert lines("cast(reported_on as varchar), cast(finished_on as varchar)") == [
        ("2026-03-04", "2026-05-04"),
        ("2026-05-04", "2026-06-04"),
    ]


def test_small_whole_numbers_under_a_header_without_minutes_may_be_hours(place, capsys):
    layout = 'name = "office"\nrequired = ["Time"]\n[columns]\njob_id = "No"\nunit_type = "Type"\nreported_at = "Day"\nhands_on_min = "Time"\n'
    Path("mendstat-store/layouts").mkdir(parents=True)
    Path("mendstat-store/layouts/office.toml").write_text(layout)
    name = written(
        "jobs.csv", "No,Type,Day,Time\n1,washer,2026-01-02,1\n2,dryer,2026-01-03,2\n3,dryer,2026-01-03,1\n"
    )
    question = asked(capsys, name)
    assert "minutes or hours" in question
    assert "write the line that is true" in question
    Path("mendstat-store/layouts/office.toml").write_text(f'{layout}[forms]\nhands_on_min = "hours"\n')
    loads_and_asks_nothing_more(capsys, name, 3)
    assert lines("hands_on_min") == [(60,), (120,), (60,)]


def test_log_that_is_wholly_readable_asks_nothing(place, capsys):
    text = (
        PAPERS.replace("Closed", "Fixed")
        .replace("Invoiced", "NFF")
        .replace("Paid", "no access")
        .replace("closed", "BER")
    )
    assert main(["load", written("jobs.csv", text)]) == 0
    assert not Path("mendstat-store/layouts").exists()


def test_layout_with_answers_reads_only_files_of_the_same_columns(place, capsys):
    asked(capsys, written("jobs.csv", NO_REPORT))
    answered("jobs", 'not_recorded = ["reported_at"]')
    whole = NO_REPORT.replace("Rang on", "reported_at")
    assert main(["load", written("whole.csv", whole)]) == 0
    assert "standard-log" in capsys.readouterr().out


def test_layout_named_by_hand_has_to_be_left_out_afterwards(place, capsys):
    assert "without --layout" in asked(capsys, "--layout", "standard-log", written("jobs.csv", PAPERS))


def test_header_that_may_be_a_name_is_not_written_down(place, capsys):
    name = written(
        "jobs.csv", NO_KIND.replace("outcome", "outcome,Mrs Quillby 07700 900123").replace("fixed", "fixed,x")
    )
    asked(capsys, name)
    text = Path("mendstat-store/layouts/jobs.toml").read_text()
    assert "Quillby" not in text
    assert "900123" not in text


def test_question_stands_on_standard_error_of_the_real_command(place):
    written("jobs.csv", PAPERS)
    command = [sys.executable, "-m", "pipeline.cli", "load", "jobs.csv"]
    root = str(Path(__file__).parent.parent)
    done = subprocess.run(
        command,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": root, "XDG_CONFIG_HOME": str(place)},
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("mendstat: jobs.csv: ")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    "phrase",
    [
        "Closed",
        "INVOICED",
        "Paid in full",
        "job done",
        "completed",
        "Closed - invoiced",
        "Sent 12/03",
        "bezahlt",
    ],
)
def test_words_about_papers(phrase):
    assert is_paperwork(phrase, vocabulary()["outcome"])


@pytest.mark.parametrize(
    "phrase",
    [
        "fixed",
        "not completed",
        "fixed and paid",
        "parts on order",
        "no access",
        "job",
        "door will not close right",
        "...",
    ],
)
def test_words_about_the_machine_or_of_nothing(phrase):
    assert not is_paperwork(phrase, vocabulary()["outcome"])


def test_question_goes_into_the_table_it_belongs_to_and_stays_a_comment():
    text = f'{MARK}\nname = "x"\n\n[columns]\nunit_type = "Type"\n\n[values.outcome]\n"Ok" = "fixed"\n'
    question = Question(
        "What?",
        (
            Answer(TOP, 'not_recorded = ["reported_at"]', "no"),
            Answer("columns", 'reported_at = "Day"', "yes"),
            Answer("values.outcome", '"Sent" = "unknown"', "?"),
            Answer("forms", 'charge = "decimal point"', "!"),
        ),
    )
    done = with_question(text, question)
    assert read_layout(done, "x.toml") is not None
    assert with_question(done, question) == done
    for answer in question.answers:
        done = done.replace(f"# {answer.line}", answer.line)
    done = done.replace('not_recorded = ["reported_at"]', "")
    layout = read_layout(done, "x.toml")
    assert layout.columns["reported_at"] == ("Day",)
    assert layout.values["outcome"] == {"Ok": "fixed", "Sent": "unknown"}
    assert layout.forms == {"charge": "decimal point"}


def test_header_over_two_lines_stands_on_one_line_of_the_question_and_of_the_draft(place, capsys):
    text = NO_REPORT.replace("Rang on", '"Rang\non"')
    assert "    # yes, in the column Rang on\n" in asked(capsys, written("log.csv", text))
    answered("log", r'reported_at = "Rang\non"')
    assert main(["load", "log.csv"]) == 0
    assert accounts(capsys) == [(3, 3)]
