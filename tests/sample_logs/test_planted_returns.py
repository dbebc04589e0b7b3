"""What was planted about fixes and people is in the committed files, counted with nothing but a CSV reader."""

from collections import Counter
from datetime import date
from itertools import pairwise
from statistics import mean, median

from sample_logs import planted
from tests.sample_logs.plain import FAULTS, day, share, with_next, worked_parts


def is_same(lines, later):
    """Whether a later job shares the symptom or a worked part, or says that it is a return of the job."""
    first, second = lines[0], later[0]
    shares = first["symptom"] == second["symptom"] or worked_parts(lines).keys() & worked_parts(later).keys()
    return bool(shares) or second["return_of"] == first["job_id"]


def returned(history, unit_type, part_no, action, days, *, only=lambda lines: True):
    """For each job that fixed a part by an action, followed long enough: whether the same fault was back within some days."""
    answers = []
    for of_machine in history.values():
        faults = [lines for lines in of_machine if lines[0]["job_kind"] in FAULTS]
        for lines, later in with_next(faults):
            is_it = (
                lines[0]["unit_type"] == unit_type
                and worked_parts(lines).get(part_no) == action
                and only(lines)
            )
            if not is_it or lines[-1]["outcome"] != "fixed":
                continue
            finished = day(lines[-1]["finished_at"])
            if (date(2026, 2, 28) - finished).days >= days:
                is_soon = later is not None and (day(later[0]["reported_at"]) - finished).days <= days
                answers.append(is_soon and is_same(lines, later))
    return answers


def test_freed_and_cleaned_parts_come_back_more_often_than_replaced_ones(history):
    for unit_type, part_no, easy in (("dishwasher", "FM-2041", "free"), ("washer", "DP-1107", "clean")):
        for days in (30, 90):
            cleaned = returned(history, unit_type, part_no, easy, days)
            fitted = returned(history, unit_type, part_no, "replace", days)
            assert len(cleaned) >= 100
            assert len(fitted) >= 70
            assert share(cleaned) > 1.5 * share(fitted)


def _wheel_was_free(lines):
    return any(line["action"] == "free" and line["mechanism"] == "none found" for line in lines)


def test_freeing_a_free_wheel_cures_nothing(history):
    free = returned(history, "dishwasher", "FM-2041", "free", 30, only=_wheel_was_free)
    stuck = returned(
        history, "dishwasher", "FM-2041", "free", 30, only=lambda lines: not _wheel_was_free(lines)
    )
    assert len(free) >= 15
    assert share(free) > 0.7
    assert share(stuck) < 0.45


def test_the_check_of_the_wheel_says_whether_it_was_stuck(jobs):
    for lines in jobs.values():
        results = {line["check_result"] for line in lines if line["check"] == "turn the wheel by hand"}
        if any(line["action"] == "free" for line in lines) and results:
            assert results == ({"turns freely"} if _wheel_was_free(lines) else {"stuck"})


def test_the_weak_procedure_is_the_dryer_belt(history):
    belt = returned(history, "dryer", "BT-3315", "replace", 90)
    rollers = returned(history, "dryer", "RO-5140", "replace", 90)
    assert share(belt) > 2 * share(rollers)


def test_one_technician_cleans_the_washer_pump_differently(history):
    def by_them(lines):
        return lines[-1]["technician"] == planted.DIFFERENT_TECHNICIAN

    theirs = returned(history, *planted.DIFFERENT_PROCEDURE, 90, only=by_them)
    others = returned(history, *planted.DIFFERENT_PROCEDURE, 90, only=lambda lines: not by_them(lines))
    assert len(theirs) >= 25
    assert share(theirs) > 1.6 * share(others)


def test_the_same_technician_does_nothing_else_differently(history):
    def by_them(lines):
        return lines[-1]["technician"] == planted.DIFFERENT_TECHNICIAN

    theirs = returned(history, "washer", "BR-8810", "replace", 90, only=by_them)
    others = returned(history, "washer", "BR-8810", "replace", 90, only=lambda lines: not by_them(lines))
    together = share(theirs + others)
    spread = (together * (1 - together) * (1 / len(theirs) + 1 / len(others))) ** 0.5
    assert len(theirs) >= 20
    assert abs(share(theirs) - share(others)) < 3 * spread


def _visits(jobs):
    for lines in jobs.values():
        for line in {line["visit_no"]: line for line in lines}.values():
            if line["hands_on_min"] and line["job_kind"] == "fault" and line["outcome"] == "fixed":
                yield line


def test_one_technician_is_slow(jobs):
    minutes = {
        code: [int(v["hands_on_min"]) for v in _visits(jobs) if v["technician"] == code]
        for code in ("K1", "K3", "K8")
    }
    assert median(minutes["K3"]) > 1.3 * median(minutes["K1"] + minutes["K8"])


def test_one_technician_is_sent_to_the_old_machines(jobs, machines):
    ages = {}
    for visit in _visits(jobs):
        if visit["unit_id"] in machines:
            age = (day(visit["reported_at"]) - day(machines[visit["unit_id"]]["installed_on"])).days / 365.25
            ages.setdefault(visit["technician"], []).append(age)
    means = {code: mean(values) for code, values in ages.items()}
    assert max(means, key=means.get) == planted.OLD_MACHINES_TECHNICIAN
    assert means[planted.OLD_MACHINES_TECHNICIAN] > 1.3 * median(means.values())


def _is_bad_lot(row):
    return row["model"] == "TD 510" and "TQ2030" <= row["serial"][:6] <= "TQ2039"


def test_the_bad_lot_burns_heaters(history, machines):
    lot = [unit_id for unit_id, row in machines.items() if _is_bad_lot(row)]
    rest = [unit_id for unit_id, row in machines.items() if row["model"] == "TD 510" and unit_id not in lot]
    burnt = Counter(
        unit_id for unit_id, jobs in history.items() for lines in jobs if "HE-7203" in worked_parts(lines)
    )
    assert len(lot) >= 40
    assert sum(burnt[u] for u in lot) / len(lot) > 4 * sum(burnt[u] for u in rest) / len(rest)


def test_two_works_in_one_visit_one_of_them_outside_the_machine(jobs):
    outside = {"drain run without a rise", "vent duct blocked", "tap part closed"}
    seen = Counter()
    for lines in jobs.values():
        for finding in outside & {line["finding"] for line in lines}:
            seen[finding, bool(worked_parts(lines))] += 1
    assert all(seen[finding, False] >= 5 for finding in outside)
    assert seen["drain run without a rise", True] >= 10


def test_a_pump_replaced_where_the_drain_run_was_wrong_comes_back_until_it_is_put_right(history):
    stories = 0
    for of_machine in history.values():
        for lines, later in pairwise(of_machine):
            pump = worked_parts(lines).get("DP-1107") == "replace" and lines[-1]["outcome"] == "fixed"
            right = any(line["finding"] == "drain run without a rise" for line in later)
            stories += pump and right and not any(line["action"] == "correct installation" for line in lines)
    assert stories >= 5


def test_wrong_diagnoses_another_part_cures_the_same_symptom_soon(history):
    stories = 0
    for of_machine in history.values():
        for lines, later in pairwise(of_machine):
            fixed = lines[-1]["outcome"] == "fixed" and later[-1]["outcome"] == "fixed"
            if fixed and lines[0]["symptom"] == later[0]["symptom"] != "":
                soon = (day(later[0]["reported_at"]) - day(lines[-1]["finished_at"])).days <= 30
                first, second = worked_parts(lines), worked_parts(later)
                stories += soon and bool(first) and bool(second) and not first.keys() & second.keys()
    assert stories >= 20
