"""What nothing in a file decides is asked, with the column named; what the file decides is not asked."""

from __future__ import annotations

import csv
import random
from datetime import date, timedelta
from types import SimpleNamespace

import pytest

from pipeline.intake.source import Source
from pipeline.recognition import proposing
from pipeline.recognition.deciding import Reading
from pipeline.recognition.recognising import recognise
from tests.recognition.drawn_files import SEEDS_OF_DOUBT

FIRST = date(2026, 1, 1)


def found(tmp_path, names, rows):
    path = tmp_path / "jobs.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([names, *rows])
    return recognise(Source(path), tmp_path / "store")


def jobs(seed, days, months):
    """Jobs of one log, by their day of report: machine, kind, that day, day of the visit; on the first days of some months."""
    rng = random.Random(seed)
    for n in range(30):
        reported = FIRST.replace(month=FIRST.month + rng.randrange(months)) + timedelta(
            days=rng.randrange(days)
        )
        yield (
            n,
            f"M{rng.randrange(9):03d}",
            rng.choice(("washer", "dryer")),
            reported,
            reported + timedelta(days=1),
            rng,
        )


HEADERS = ("Slip", "Sticker", "What it is", "Came in", "Packed up", "Took", "Upshot")


def file(
    seed,
    days=330,
    *,
    months=1,
    written="%d/%m/%Y",
    slip=True,
    minutes=lambda rng: rng.randrange(15, 90),
    ended=("fixed", "NFF"),
):
    rows = []
    for _n, machine, kind, reported, done, rng in sorted(jobs(seed, days, months), key=lambda job: job[3]):
        number = [f"J{len(rows) + 100}"] if slip else []
        rows.append(
            [
                *number,
                machine,
                kind,
                f"{reported:{written}}",
                f"{done:{written}}",
                minutes(rng),
                rng.choice(ended),
            ]
        )
    return (HEADERS if slip else HEADERS[1:]), rows


@pytest.mark.parametrize("seed", SEEDS_OF_DOUBT)
def test_what_the_file_decides_is_not_asked(tmp_path, seed):
    assert found(tmp_path, *file(seed)).questions == ()


@pytest.mark.parametrize("seed", SEEDS_OF_DOUBT)
def test_days_of_one_fortnight_without_job_numbers_could_be_months(tmp_path, seed):
    (question,) = found(tmp_path, *file(seed, 10, slip=False)).questions
    assert {answer.line.split(" = ")[1] for answer in question.answers} >= {'"day first"', '"month first"'}
    assert {answer.line.split(" = ")[0] for answer in question.answers} <= {"reported_at", "finished_at"}


@pytest.mark.parametrize("seed", SEEDS_OF_DOUBT)
def test_the_same_days_are_decided_by_numbers_that_rise(tmp_path, seed):
    assert found(tmp_path, *file(seed, 10, months=12)).questions == ()


@pytest.mark.parametrize("seed", SEEDS_OF_DOUBT)
def test_words_of_papers_as_outcome_are_asked_about(tmp_path, seed):
    (question,) = found(tmp_path, *file(seed, ended=("Closed", "Invoiced"))).questions
    assert {answer.about for answer in question.answers} == {"Closed", "Invoiced"}


def test_small_whole_numbers_may_be_hours_or_minutes(tmp_path):
    names, rows = file(1, minutes=lambda rng: rng.randrange(1, 4))
    names = [*names[:-2], "Time spent", names[-1]]
    (question,) = found(tmp_path, names, rows).questions
    assert {answer.line for answer in question.answers} == {
        'hands_on_min = "minutes"',
        'hands_on_min = "hours"',
    }


def test_hours_in_a_header_settle_that(tmp_path):
    names, rows = file(1, minutes=lambda rng: rng.randrange(1, 4))
    names = [*names[:-2], "Time spent (h)", names[-1]]
    recognised = found(tmp_path, names, rows)
    assert recognised.questions == ()
    assert recognised.proposal.layout.forms == {"hands_on_min": "hours"}


def test_two_columns_of_answers_under_headers_that_ask_nothing_are_one_question(tmp_path):
    names, rows = file(2)
    rng = random.Random(3)
    rows = [[*row, rng.choice(("yes", "no")), rng.choice(("yes", "no"))] for row in rows]
    (question,) = found(tmp_path, [*names, "Box A", "Box B"], rows).questions
    assert {answer.about for answer in question.answers} == {"Box A", "Box B"}
    assert 'test_run = "Box A"' in {answer.line for answer in question.answers}


def test_kind_of_machine_that_stands_nowhere_is_asked(tmp_path):
    names, rows = file(4)
    at = names.index("What it is")
    (question,) = found(
        tmp_path, [*names[:at], *names[at + 1 :]], [[*row[:at], *row[at + 1 :]] for row in rows]
    ).questions
    assert "what kind of machine" in question.asks


def test_day_of_report_that_stands_nowhere_is_asked(tmp_path):
    names, rows = file(5)
    at = names.index("Came in")
    (question,) = found(
        tmp_path, [*names[:at], *names[at + 1 :]], [[*row[:at], *row[at + 1 :]] for row in rows]
    ).questions
    assert "when each problem was reported" in question.asks


@pytest.mark.parametrize(
    ("header", "took"),
    [
        ("Check minutes", "Minutes"),
        ("Check (min)", "Took"),
        ("Prüfdauer (min)", "Dauer"),
        ("Controleduur", "Duur"),
        ("Durée du contrôle", "Durée"),
    ],
)
def test_minutes_of_a_check_are_told_by_the_header_and_take_nothing_from_those_of_the_visit(
    tmp_path, header, took
):
    names, rows = file(1)
    rng = random.Random(7)
    rows = [[*row, "look into the pump", str(rng.randrange(2, 9))] for row in rows]
    names = [took if name == "Took" else name for name in names]
    recognised = found(tmp_path, [*names, "What was tested", header], rows)
    columns = recognised.proposal.layout.columns
    assert (columns["check_min"], columns["hands_on_min"]) == ((header,), (took,))
    assert not [question for question in recognised.questions if header in str(question)]


def test_minutes_whose_header_names_no_check_are_those_of_the_visit(tmp_path):
    names, rows = file(1, minutes=lambda rng: rng.randrange(6, 12))
    names = ["Minutes" if name == "Took" else name for name in names]
    columns = found(tmp_path, names, rows).proposal.layout.columns
    assert columns["hands_on_min"] == ("Minutes",)
    assert "check_min" not in columns


def test_what_another_column_is_for_certain_is_no_answer():
    columns = [SimpleNamespace(position=at, header=header) for at, header in enumerate("ABC")]
    sure = Reading(columns[0], "symptom")
    open_still = Reading(columns[1], "note", rivals=("symptom", "finding"))
    settled = Reading(columns[2], "cause", rivals=("symptom",))
    (question,) = proposing._doubts([open_still, settled], [sure, open_still, settled])
    assert [answer.line for answer in question.answers] == ['note = "B"', 'finding = "B"']
