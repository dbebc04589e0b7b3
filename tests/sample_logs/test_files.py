"""The committed log obeys the rules of the standard log."""

import re
from collections import Counter, defaultdict
from datetime import datetime
from decimal import Decimal

from pipeline.standard_log import LOG
from sample_logs.rows import REPEATED_LINES
from sample_logs.scenario import MODELS, PARTS
from sample_logs.visits import TECHNICIANS
from tests.sample_logs.plain import read, worked_parts

LEVELS = {column.name: column.level for column in LOG}
# On every line, but the same for the whole job although they stand among the columns of a line.
OF_JOB = [name for name, level in LEVELS.items() if level in {"job", "machine"} and name != "visit_no"]
OF_VISIT = [name for name, level in LEVELS.items() if level == "visit"]


def test_job_and_machine_fields_agree_on_every_line_of_a_job(jobs):
    for job_id, lines in jobs.items():
        for name in (*OF_JOB, "symptom", "fault_code"):
            assert len({line[name] for line in lines}) == 1, (job_id, name)


def test_visit_fields_agree_on_every_line_of_a_visit(log):
    visits = defaultdict(list)
    for line in log:
        visits[line["job_id"], line["visit_no"]].append(line)
    for visit, lines in visits.items():
        assert all(len({line[name] for line in lines}) == 1 for name in OF_VISIT), visit


def test_lines_of_a_job_stand_together_and_visits_count_from_one(log, jobs):
    order = list(dict.fromkeys(line["job_id"] for line in log))
    assert [line["job_id"] for line in log] == [line["job_id"] for job_id in order for line in jobs[job_id]]
    for lines in jobs.values():
        visits = list(dict.fromkeys(line["visit_no"] for line in lines))
        assert visits == [str(number) for number in range(1, len(visits) + 1)]


def test_dates_stand_in_order(jobs):
    for job_id, lines in jobs.items():
        times = [lines[0]["reported_at"]]
        for line in {line["visit_no"]: line for line in lines}.values():
            times += [line[name] for name in ("started_at", "finished_at") if line[name]]
        moments = [datetime.fromisoformat(time) for time in times]
        assert moments == sorted(moments), job_id
        assert not lines[0]["installed_on"] or lines[0]["made_on"] < lines[0]["installed_on"] <= times[-1]


def test_everything_happens_in_the_three_years(log):
    times = [
        line[name] for line in log for name in ("reported_at", "started_at", "finished_at") if line[name]
    ]
    assert min(times) >= "2023-03-01"
    assert max(times) < "2026-03-01"


def test_exactly_twenty_lines_stand_in_the_log_twice(log):
    copies = Counter(tuple(line.values()) for line in log)
    assert max(copies.values()) == 2
    assert sum(number - 1 for number in copies.values()) == REPEATED_LINES


def test_minutes_are_the_time_between_start_and_finish(log):
    for line in log:
        if line["hands_on_min"]:
            spent = datetime.fromisoformat(line["finished_at"]) - datetime.fromisoformat(line["started_at"])
            assert spent.total_seconds() / 60 == int(line["hands_on_min"]) > 0


def test_a_charge_is_the_sum_of_its_pieces_and_nothing_under_own_guarantee(log):
    for line in log:
        if line["charge"]:
            pieces = [Decimal(line[f"{name}_charge"]) for name in ("callout", "labour", "part")]
            assert Decimal(line["charge"]) == sum(pieces)
            assert line["payer"] not in {"own guarantee", "goodwill"} or not any(pieces)


def test_parts_are_on_the_parts_list_and_fit_their_machine(log):
    fits = {row["part_no"]: row["fits"].split("|") for row in read("parts")}
    for line in log:
        assert not line["part_no"] or line["unit_type"] in fits[line["part_no"]]


def test_parts_that_keep_people_safe_are_replaced_and_never_freed_or_cleaned(jobs):
    safety = {part.part_no for part in PARTS if part.is_safety_part}
    actions = {
        action for lines in jobs.values() for part, action in worked_parts(lines).items() if part in safety
    }
    assert actions == {"replace"}


def test_listed_machines_say_the_same_in_log_and_list(log, machines):
    for line in log:
        listed = machines.get(line["unit_id"], {})
        for name in ("unit_type", "make", "model", "serial", "installed_on", "site_id"):
            assert not listed or line[name] in {listed[name], ""}


def test_a_removed_machine_is_not_reported_afterwards(history, machines):
    for unit_id, of_machine in history.items():
        removed = machines[unit_id]["removed_on"]
        assert not removed or max(lines[0]["reported_at"] for lines in of_machine)[:10] <= removed


def test_every_make_model_and_technician_is_of_the_invented_firm(log, machines):
    invented = {(model.unit_type, model.make, model.model) for model in MODELS}
    rows = [*log, *machines.values()]
    assert {(row["unit_type"], row["make"], row["model"]) for row in rows} == invented
    assert {line["technician"] for line in log} <= {*TECHNICIANS, ""}


def test_no_cell_looks_like_an_address_a_telephone_number_or_a_mail(log):
    texts = {
        line[name]
        for line in log
        for name in ("note", "finding", "symptom", "advised_not_done", "reading", "check")
    }
    personal = re.compile(r"@|\d{5,}|\b(Mr|Mrs|Ms|Street|Road|Lane|Avenue|tel|key)\b", re.IGNORECASE)
    assert not [text for text in texts if personal.search(text)]


def test_district_codes_are_invented_ones_and_technicians_plain_codes(log):
    assert all(re.fullmatch(r"QX[A-F] \d\d", line["postcode"]) for line in log)
    assert all(re.fullmatch(r"S-\d{4}", line["site_id"]) for line in log)
    assert all(re.fullmatch(r"K\d|", line["technician"]) for line in log)
