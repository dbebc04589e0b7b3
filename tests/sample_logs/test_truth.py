"""The truth that the sample claims for itself agrees with what its files show, and over many seeds with chance alone."""

import math
from collections import defaultdict
from datetime import date

import pytest

from sample_logs import truth
from sample_logs.expected import REPEAT_DAYS, expected_failures, worked_parts
from sample_logs.outcomes import courses
from sample_logs.returns import true_returns
from sample_logs.simulate import committed_firm, make_firm
from tests.sample_logs.plain import FAULTS, day, poisson_tails, with_next
from tests.sample_logs.plain import worked_parts as parts_of_lines

SEEDS = range(6)


@pytest.fixture(scope="module")
def firms():
    return [make_firm(seed, 1000) for seed in SEEDS]


def test_failures_in_the_files_lie_where_the_true_rates_put_them(failures):
    rates = truth.part_failure_rates("unit_type")
    assert len(rates) == 45
    for group, rate in rates.items():
        low, high = poisson_tails(failures.get(group, 0), rate.value * rate.weight)
        assert min(low, high) > 0.025 / len(rates), group  # Bonferroni over the cells


def test_returns_in_the_files_lie_where_the_true_probabilities_put_them(history):
    true = {row.job_id: row.any_fault for row in true_returns(committed_firm().jobs, 30)}
    seen, chances = 0, []
    for of_machine in history.values():
        faults = [lines for lines in of_machine if lines[0]["job_kind"] in FAULTS]
        for lines, later in with_next(faults):
            finished = lines[-1]["finished_at"]
            if lines[0]["job_id"] in true and (date(2026, 2, 28) - day(finished)).days >= 30:
                chances.append(true[lines[0]["job_id"]])
                seen += later is not None and (day(later[0]["reported_at"]) - day(finished)).days <= 30
    z = (seen - sum(chances)) / math.sqrt(sum(p * (1 - p) for p in chances))
    assert len(chances) > 2500
    assert abs(z) < 3.3


def _observed_failures(life):
    last = defaultdict(lambda: -math.inf)
    for job in sorted(life.jobs, key=lambda job: job.reported):
        for part_no in worked_parts(job):
            if math.floor(job.reported) - last[part_no] > REPEAT_DAYS and job.course is not None:
                yield part_no
            last[part_no] = math.floor(job.finished)


def test_expected_failures_are_right_over_many_firms(firms):
    seen, expected = defaultdict(int), defaultdict(float)
    for firm in firms:
        for cell in expected_failures(firm.lives):
            expected[cell.unit_type, cell.part_no] += cell.expected
        for life in firm.lives:
            for part_no in _observed_failures(life) if life.machine.is_listed else ():
                seen[life.machine.unit_type, part_no] += 1
    chi_square = sum((seen[group] - expected[group]) ** 2 / expected[group] for group in expected)
    # Wilson-Hilferty: a chi-square number as a normal one; failures of one machine hardly depend on each other.
    cells = len(expected)
    assert abs(((chi_square / cells) ** (1 / 3) - (1 - 2 / (9 * cells))) / math.sqrt(2 / (9 * cells))) < 3.5
    assert abs(sum(seen.values()) - sum(expected.values())) < 3.5 * math.sqrt(sum(expected.values()))


def _returns_seen(life, days):
    """Finished fault jobs of a machine with whether the next report came within some days and was the same fault."""
    faults = [job for job in life.jobs if job.course is not None]
    for job, later in with_next(faults):
        if job.finished is None or later is None:
            yield job, False
            continue
        parts = {work.part_no for work in job.course.works} & {work.part_no for work in later.course.works}
        same = bool(parts) or later.symptom == job.symptom or later.returns_to is job
        yield job, same and math.floor(later.reported) - math.floor(job.finished) <= days


@pytest.mark.parametrize("days", [30, 90])
def test_return_probabilities_are_right_over_many_firms(firms, days):
    seen, expected, variance = defaultdict(int), defaultdict(float), defaultdict(float)
    for firm in firms:
        rows = defaultdict(list)
        for row in true_returns(firm.jobs, days):
            rows[row.job_id].append(row)
        for life in firm.lives:
            for job, is_back in _returns_seen(life, days):
                for row in (
                    rows[job.job_id] if job.finished is not None and job.finished < 1096 - days - 1 else ()
                ):
                    group = (row.unit_type, row.part_no, row.action)
                    seen[group] += is_back
                    expected[group] += row.same_fault
                    variance[group] += row.same_fault * (1 - row.same_fault)
    large = [group for group in expected if variance[group] >= 4]
    assert len(large) >= 15
    assert all(abs(seen[g] - expected[g]) < 4 * math.sqrt(variance[g]) for g in large)
    assert abs(sum(seen.values()) - sum(expected.values())) < 3.5 * math.sqrt(sum(variance.values()))


def test_minutes_and_fixed_shares_of_the_files_agree_with_the_truth(jobs):
    minutes, closed = defaultdict(list), defaultdict(list)
    for lines in jobs.values():
        if lines[0]["job_kind"] in FAULTS and lines[-1]["outcome"] not in {"open", "return booked"}:
            closed[lines[0]["unit_type"],].append(lines[-1]["outcome"] == "fixed")
            visits = {line["visit_no"]: line["hands_on_min"] for line in lines}.values()
            if lines[-1]["outcome"] == "fixed" and any(visits):
                minutes[lines[0]["unit_type"],].append(sum(int(v or 0) for v in visits))
    for group, true in truth.mean_hands_on_minutes().items():
        assert abs(sum(minutes[group]) / len(minutes[group]) / true.value - 1) < 0.15
    for group, true in truth.fixed_shares().items():
        spread = math.sqrt(true.value * (1 - true.value) / true.weight)
        assert abs(sum(closed[group]) / len(closed[group]) - true.value) < 3.5 * spread


def test_courses_of_every_source_have_probabilities_that_add_up_to_one():
    sources = {
        source for life in committed_firm().lives[:300] for _, _, of_spell in life.up for source in of_spell
    }
    assert len(sources) > 1000
    for source in sources:
        assert math.isclose(sum(p for p, _ in courses(source)), 1.0)
        assert all(p > 0 for p, _ in courses(source))


def test_cells_that_must_be_enough_hold_enough(failures, jobs):
    fixed = defaultdict(int)
    for lines in jobs.values():
        if lines[0]["job_kind"] in FAULTS and lines[-1]["outcome"] == "fixed":
            fixed[lines[0]["unit_type"],] += 1
            for part_no, action in parts_of_lines(lines).items():
                fixed[lines[0]["unit_type"], part_no, action] += 1
    for measure, group in truth.MUST_BE_ENOUGH:
        if measure == "part-failure-rate":
            assert failures[tuple(group.values())] >= 20, group
        else:
            assert fixed[tuple(group.values())] >= 90, group


def test_a_window_that_ends_earlier_holds_fewer_machine_years():
    whole, half = truth.part_failure_rates(), truth.part_failure_rates(complete_to=date(2024, 9, 1))
    assert all(half[group].weight < whole[group].weight for group in whole)


def test_planted_relapse_follows_its_formula():
    assert truth.planted_relapse("dryer", "BT-3315", "replace", 30) == pytest.approx(
        0.42 * (1 - math.exp(-30 / 40))
    )
    assert truth.planted_median_minutes("dryer", "BT-3315", "replace") == 50
