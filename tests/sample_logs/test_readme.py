"""The README of the sample agrees with its files and with its truth."""

import re
from collections import Counter

import pytest

from sample_logs import KINDS, STANDARD, truth
from sample_logs.faults import FAULTS, OUTSIDE_CAUSES
from sample_logs.scenario import MODELS, SEED
from tests.sample_logs.plain import read

README = (STANDARD.parent / "README.md").read_text(encoding="utf-8")
CELLS = [
    [cell.strip() for cell in row.strip("|").split("|")]
    for row in README.splitlines()
    if row.startswith("| ")
]
FIRST = {cells[0]: cells[1:] for cells in CELLS}


def number(text):
    return int(re.match(r"[\d,]+", text).group().replace(",", ""))


def said(start):
    return next(number(cells[0]) for name, cells in FIRST.items() if name.startswith(start))


@pytest.mark.parametrize("kind", KINDS)
def test_row_counts_are_those_of_the_files(kind):
    assert number(FIRST[f"`{kind}.csv`"][0]) == len(read(kind))


def test_the_seed_and_that_all_is_invented_are_said():
    assert str(SEED) in README
    assert "**The firm is invented.**" in README


def test_jobs_visits_and_kinds_are_counted_right(log, jobs):
    visits = {(line["job_id"], line["visit_no"]) for line in log}
    assert f"{len(jobs):,} jobs, {len(visits):,} visits" in README
    kinds = Counter(lines[0]["job_kind"] for lines in jobs.values())
    assert f"Jobs: {kinds['fault']:,} faults, {kinds['workshop']} faults mended in the workshop" in " ".join(
        README.split()
    )
    assert f"{kinds['planned service']} planned services, {kinds['installation']} installations" in " ".join(
        README.split()
    )
    assert f"{kinds['recall work']} recall works, {kinds['quote only']} quotes only" in README


def test_machines_and_sites_are_counted_right(machines):
    types = Counter(row["unit_type"] for row in machines.values())
    text = " ".join(README.split())
    for unit_type, count in types.items():
        assert re.search(rf"{count} {unit_type}e?s", text)
    at_site = Counter(row["site_id"] for row in machines.values())
    assert f"{len(at_site)} sites" in text
    assert f"{sum(count > 1 for count in at_site.values())} sites have several" in text
    of_type = Counter((row["site_id"], row["unit_type"]) for row in machines.values())
    assert f"{sum(count > 1 for count in of_type.values())} times" in text
    assert f"{sum(bool(row['removed_on']) for row in machines.values())} left" in text


@pytest.mark.parametrize(
    "outcome",
    ["no fault found", "cancelled", "no access", "quote declined", "beyond economic repair", "referred"],
)
def test_outcomes_are_counted_right(jobs, outcome):
    last = Counter(lines[-1]["outcome"] for lines in jobs.values())
    assert said(f"jobs that end `{outcome}`") == last[outcome]


def test_statuses_gaps_and_reports_are_counted_right(log, jobs):
    status = Counter(line["part_status"] for line in log)
    first = [lines[0] for lines in jobs.values()]
    assert said("planned returns") == status["needed not on van"] + status["ordered"]
    assert said("parts faulty new") == status["faulty new"]
    assert said("parts taken out again") == status["taken out again"]
    assert said("jobs without `unit_id` and") == sum(
        not line["unit_id"] and not line["serial"] for line in first
    )
    assert FIRST["jobs without `unit_id`"] == [str(sum(not line["unit_id"] for line in first))]
    assert said("jobs of machines on no list") == sum(bool(line["age_years"]) for line in first)
    assert said("jobs with a leak of our own") == sum(
        line["return_reason"] == "disturbed by us" for line in first
    )
    dangers = {"burning smell", "tingle from machine"}
    assert said("safety reports") == sum(line["symptom"] in dangers for line in first)
    unfinished = sum(lines[-1]["outcome"] in {"open", "return booked"} for lines in jobs.values())
    assert said("jobs not finished") == unfinished
    assert said("lines that stand in the log twice") == len(log) - len({tuple(line.values()) for line in log})


def test_frees_are_counted_right(log):
    freed = {line["job_id"] for line in log if line["action"] == "free"}
    useless = {
        line["job_id"] for line in log if line["action"] == "free" and line["mechanism"] == "none found"
    }
    assert f"{len(useless)} jobs of {len(freed)}" in README


def test_every_part_hazard_stands_in_it_with_its_true_rate():
    rates = truth.part_failure_rates("unit_type")
    rows = {
        (cells[0], cells[1].split()[-1]): cells for cells in CELLS if len(cells) == 4 and "year" in cells[2]
    }
    for fault in (fault for fault in FAULTS if fault.part_no):
        group = (fault.unit_type, fault.part_no)
        planted = f"{1 / fault.scale_years:.3g} a year" if fault.shape == 1 else f"shape {fault.shape:g}"
        assert planted in rows[group][2]
        assert rows[group][3] == f"{rates[group].value:.3f}"


def test_every_model_effect_stands_in_it():
    rows = {tuple(cells[:1] + cells[2:]) for cells in CELLS if len(cells) == 4}
    for model in MODELS:
        for part_no, factor in model.effects.items():
            found = {row for row in rows if row[0] == f"{model.make} {model.model}" and part_no in row[1]}
            assert {row[2] for row in found} == {f"{factor:g}"}


def test_planted_relapses_and_true_returns_stand_in_it():
    true = {days: truth.return_rates("unit_type", "part_no", "action", days=days) for days in (30, 90)}
    rows = [cells for cells in CELLS if len(cells) == 9 and cells[2] in {"free", "clean", "replace"}]
    assert len(rows) >= 15
    for unit_type, part, action, median, *shares, jobs in rows:
        cell = (unit_type, part.split()[-1], action)
        assert float(median) == truth.planted_median_minutes(*cell)
        planted = [truth.planted_relapse(*cell, days) for days in (30, 90)]
        values = [*planted, *(true[days][cell].value for days in (30, 90))]
        assert shares == [f"{100 * value:.1f}" for value in values]
        assert int(jobs) == true[30][cell].weight


def test_outside_causes_stand_in_it():
    rows = {cells[1]: cells for cells in CELLS if len(cells) == 8}
    for cause in OUTSIDE_CAUSES:
        row = rows[cause.finding]
        assert row[2:4] == [f"{100 * cause.share_of_machines:.0f}", f"{cause.rate:.2f}"]
        assert cause.mimics in row[4]
        rest = 1 - cause.only_cause - cause.both
        assert row[5:] == [f"{100 * share:.0f}" for share in (cause.only_cause, cause.both, rest)]


def test_shares_and_minutes_stand_in_it():
    minutes = truth.mean_hands_on_minutes()
    for (unit_type,), true in truth.fixed_shares().items():
        row = next(cells for cells in CELLS if len(cells) == 3 and cells[0] == unit_type)
        assert row[1:] == [f"{100 * true.value:.1f}", f"{minutes[unit_type,].value:.1f}"]
