"""What was planted about jobs, customers and gaps is in the committed files, counted with nothing but a CSV reader."""

from collections import Counter
from datetime import date
from statistics import median

import pytest

from sample_logs.check_times import MEDIAN_MIN, WRITTEN
from tests.sample_logs.plain import day, read, share


def test_planned_returns_are_visits_of_the_same_job(jobs):
    waited = [
        lines
        for lines in jobs.values()
        if {"needed not on van", "ordered"} & {line["part_status"] for line in lines}
    ]
    assert len(waited) > 400
    assert all(any(line["outcome"] == "return booked" for line in lines) for lines in waited)
    assert share(lines[-1]["outcome"] == "fixed" for lines in waited) > 0.97


def test_outcomes_of_every_planted_kind_occur(jobs):
    last = Counter(lines[-1]["outcome"] for lines in jobs.values())
    assert last["no fault found"] > 150
    assert last["cancelled"] > 50
    assert last["no access"] >= 10
    assert last["quote declined"] > 30
    assert last["beyond economic repair"] >= 10
    assert last["referred"] >= 3
    assert last["open"] + last["return booked"] >= 5


def test_jobs_of_every_kind_and_every_payer_occur(jobs):
    kinds = Counter(lines[0]["job_kind"] for lines in jobs.values())
    assert set(kinds) == {"fault", "workshop", "planned service", "installation", "recall work", "quote only"}
    payers = Counter(lines[0]["payer"] for lines in jobs.values())
    assert set(payers) == {"customer", "maker warranty", "insurer", "own guarantee", "goodwill"}
    assert min(*kinds.values(), *payers.values()) >= 10


def test_returns_are_noted_with_their_reasons(jobs):
    reasons = Counter(lines[0]["return_reason"] for lines in jobs.values() if lines[0]["return_of"])
    assert {"same fault", "wrong diagnosis", "disturbed by us", "faulty new part"} == set(reasons)
    assert all(lines[0]["return_of"] in jobs for lines in jobs.values() if lines[0]["return_of"])


def test_safety_reports_are_there_and_each_visit_made_the_machine_safe_first(jobs):
    dangers = {"burning smell", "tingle from machine"}
    reports = [lines for lines in jobs.values() if lines[0]["symptom"] in dangers]
    assert len(reports) >= 5
    attended = [[line["outcome"] for line in lines if line["hands_on_min"]] for lines in reports]
    mended = [outcomes for outcomes in attended if "fixed" in outcomes]
    assert mended
    assert all(outcomes[0] == "made safe" for outcomes in mended)


def test_parts_taken_out_again_and_faulty_new_ones_occur(log):
    status = Counter(line["part_status"] for line in log)
    assert status["taken out again"] >= 5
    assert status["faulty new"] >= 5


def test_the_superseded_number_ends_where_the_new_one_begins(log):
    old = {day(line["reported_at"]) for line in log if line["part_no"] == "IV-3306"}
    new = {day(line["reported_at"]) for line in log if line["part_no"] == "IV-3310"}
    assert max(old) < date(2024, 9, 1)
    assert min(new) >= date(2024, 8, 1)
    assert {row["part_no"]: row["replaced_by"] for row in read("parts")}["IV-3306"] == "IV-3310"


def test_customers_have_several_machines_and_some_two_of_a_type(machines):
    at_site = Counter(row["site_id"] for row in machines.values())
    of_type = Counter((row["site_id"], row["unit_type"]) for row in machines.values())
    assert sum(number > 1 for number in at_site.values()) > 300
    assert sum(number > 1 for number in of_type.values()) > 50


def test_machines_leave_and_new_ones_come(machines):
    assert sum(bool(row["removed_on"]) for row in machines.values()) > 100
    assert sum(row["installed_on"] > "2023-03-01" for row in machines.values()) > 150


def test_many_machines_never_failed_and_some_jobs_are_of_no_listed_machine(history, machines, jobs):
    assert len(machines) - len(history) > 300
    known = sum(len(of_machine) for of_machine in history.values())
    assert 20 < len(jobs) - known < 150


def test_fields_are_missing_here_and_there(jobs):
    first = [lines[0] for lines in jobs.values()]
    assert sum(not line["unit_id"] and bool(line["serial"]) for line in first) > 50
    assert sum(not line["unit_id"] and not line["serial"] for line in first) > 10
    assert sum(not line["hands_on_min"] and line["outcome"] == "fixed" for line in first) > 30
    assert all(line["site_id"] for line in first)


def test_at_least_ten_parts_failed_ten_times(failures):
    assert sum(count >= 10 for count in failures.values()) >= 30


def test_minutes_of_checks_are_those_planted_and_no_longer_than_the_visit(log):
    took = {check: [] for check in MEDIAN_MIN}
    for line in log:
        if line["check_min"]:
            took[line["check"]].append(float(line["check_min"]))
            assert not line["hands_on_min"] or float(line["check_min"]) < float(line["hands_on_min"])
    for check, planted in MEDIAN_MIN.items():
        assert median(took[check]) == pytest.approx(planted, rel=0.2)
        assert share(bool(line["check_min"]) for line in log if line["check"] == check) == pytest.approx(
            WRITTEN, abs=0.12
        )
