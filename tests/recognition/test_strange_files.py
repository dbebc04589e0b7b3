"""Files as firms have them that were read wrong once: each column by what its cells say."""

import csv
import random
from datetime import date, timedelta
from pathlib import Path

import pytest

from pipeline.intake.source import Source
from pipeline.recognition.recognising import recognise

KINDS = {"washing machine": "AK", "dishwasher": "BK", "fridge": "CK", "oven": "DK"}
FIRST = date(2024, 1, 8)


def days(rows, rng):
    """Working days, a few jobs each."""
    found, day = [], FIRST
    while len(found) < rows:
        found += [day] * rng.randint(1, 4) if day.weekday() < 5 else []
        day += timedelta(days=1)
    return found[:rows]


@pytest.fixture
def jobs():
    rng = random.Random(4)
    homes = [
        (f"01632 96{rng.randint(1000, 9999)}", kind, f"{KINDS[kind]}{rng.randint(10, 19)}")
        for kind in rng.choices(list(KINDS), k=90)
    ]
    rows = []
    for number, day in enumerate(days(240, rng), start=41_000):
        phone, kind, model = rng.choice(homes)
        work = rng.choice(["replaced", "replaced", "cleaned", "adjusted"])
        part = f"{list(KINDS).index(kind) + 3}07{rng.randint(10, 14)}X" if work == "replaced" else ""
        rows.append(
            {
                "number": str(number),
                "day": day,
                "phone": phone,
                "kind": kind,
                "make": "Aldorn" if model < "C" else "Brevik",
                "model": model,
                "work": work,
                "part": part,
                "symptom": rng.choice(["noisy", "dead"]),
                "end": rng.choice(["yes", "yes", "yes", "no access", "awaiting part"]),
                "charge": f"{rng.randint(4000, 20000) / 100:.2f}",
            }
        )
    return rows


def proposed(tmp_path, jobs, **columns):
    path = Path(tmp_path) / "log.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)
        out.writerow(name.replace("_", " ") for name in columns)
        out.writerows([make(job) for make in columns.values()] for job in jobs)
    found = recognise(Source(path), tmp_path / "store")
    made = found.proposal.layout
    return {name: list(headers) for name, headers in made.columns.items()}, made, found


def typed(job):
    return f"{job['day']:%d/%m/%Y}"


BASE = {
    "Date": typed,
    "Machine": lambda job: job["kind"],
    "Fault": lambda job: job["symptom"],
    "Outcome": lambda job: job["end"],
}


def test_numbers_of_jobs_that_could_be_days_of_a_spreadsheet_are_numbers_of_jobs(tmp_path, jobs):
    columns, _, _ = proposed(tmp_path, jobs, Xq=lambda job: job["number"], **BASE)
    assert columns["job_id"] == ["Xq"]
    assert columns["finished_at"] == ["Date"]


def test_days_as_a_spreadsheet_numbers_them_are_told_by_their_sundays(tmp_path, jobs):
    columns, _, _ = proposed(
        tmp_path,
        jobs,
        Xq=lambda job: str((job["day"] - date(1899, 12, 30)).days),
        **{name: make for name, make in BASE.items() if name != "Date"},
    )
    assert columns["finished_at"] == ["Xq"]


def test_yes_among_ends_of_visits_is_fixed(tmp_path, jobs):
    columns, made, _ = proposed(tmp_path, jobs, **BASE)
    assert columns["outcome"] == ["Outcome"]
    assert made.values["outcome"] == {"yes": "fixed"}


def test_what_many_customers_have_and_goes_with_kind_and_make_is_the_model(tmp_path, jobs):
    columns, _, found = proposed(
        tmp_path,
        jobs,
        No=lambda job: job["number"],
        **BASE,
        Mobile=lambda job: job["phone"],
        Make=lambda job: job["make"],
        Xm=lambda job: job["model"],
    )
    assert columns["model"] == ["Xm"]
    assert columns["site_id"] == ["Mobile"]
    assert not found.proposal.doubts


def test_codes_that_stand_only_where_the_work_takes_a_part_are_its_number(tmp_path, jobs):
    columns, _, _ = proposed(
        tmp_path,
        jobs,
        No=lambda job: job["number"],
        **BASE,
        Work=lambda job: job["work"],
        Xp=lambda job: job["part"],
    )
    assert columns["part_no"] == ["Xp"]


def test_a_dash_for_no_part_says_nothing(tmp_path, jobs):
    columns, _, _ = proposed(
        tmp_path,
        jobs,
        No=lambda job: job["number"],
        **BASE,
        Work=lambda job: job["work"],
        Xp=lambda job: job["part"] or "--",
    )
    assert columns["part_no"] == ["Xp"]


def test_amounts_written_without_their_noughts_are_amounts(tmp_path, jobs):
    columns, _, _ = proposed(
        tmp_path, jobs, No=lambda job: job["number"], **BASE, Xa=lambda job: f"{float(job['charge']):g}"
    )
    assert columns["charge"] == ["Xa"]
    assert "site_id" not in columns


def test_counted_names_are_names_of_columns(tmp_path, jobs):
    makers = (*BASE.values(), lambda job: job["work"])
    columns, _, _ = proposed(tmp_path, jobs, **{f"c{n:02d}": make for n, make in enumerate(makers, start=1)})
    assert columns["finished_at"] == ["c01"]
    assert columns["unit_type"] == ["c02"]
    assert columns["symptom"] == ["c03"]
    assert columns["action"] == ["c05"]


def test_amounts_under_the_name_of_a_paper_are_what_was_charged(tmp_path, jobs):
    columns, _, _ = proposed(tmp_path, jobs, **BASE, Invoice=lambda job: job["charge"])
    assert columns["charge"] == ["Invoice"]


def test_one_answer_throughout_is_no_question(tmp_path, jobs):
    _, _, found = proposed(tmp_path, jobs, **BASE, isXyz=lambda _job: "false")
    assert not found.proposal.doubts


@pytest.mark.parametrize("header", ["N° intervention", "Nº aviso", "Job №"])
def test_every_sign_for_number_is_heard(header):
    from pipeline.recognition.header_words import tokens

    assert "no" in tokens(header)
