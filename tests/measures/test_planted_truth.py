"""What was planted in the sample log is found by the figures, inside their intervals."""

import pytest

from pipeline.measures import Question, evaluate
from sample_logs import truth

# Looked at all at once, so each interval is wide enough that all of them together should hold: 99.9 % each.
LEVEL = 0.999


def by_group(result, *names):
    return {tuple(row[name] for name in names): row for row in result.iter_rows(named=True)}


def test_planted_failure_rates_lie_in_their_intervals(sample):
    result = evaluate(sample, "part-failure-rate", Question(by=("unit_type", "part_no"), level=LEVEL))
    found = by_group(result, "unit_type", "part_no")
    planted = truth.part_failure_rates("unit_type", complete_to=result["complete_to"][0].date())
    cells = [group for group in planted if group in found and group[1] not in truth.SPLIT_BY_SUPERSESSION]
    assert len(cells) >= 30
    for group in cells:
        assert found[group]["low"] <= planted[group].value <= found[group]["high"], group


def test_followed_machine_years_are_those_of_the_simulated_machines(sample):
    result = evaluate(sample, "part-failure-rate", Question(by=("unit_type", "part_no")))
    planted = truth.part_failure_rates("unit_type", complete_to=result["complete_to"][0].date())
    for group, row in by_group(result, "unit_type", "part_no").items():
        if group in planted and group[1] not in truth.SPLIT_BY_SUPERSESSION:
            assert row["denominator"] == pytest.approx(planted[group].weight, rel=0.02), group


@pytest.mark.parametrize("days", [30, 90])
@pytest.mark.parametrize("kind", ["any", "same-fault"])
def test_planted_returns_lie_in_their_intervals(sample, days, kind):
    question = Question(by=("unit_type", "part_no", "action"), days=days, kind=kind, level=LEVEL)
    found = by_group(evaluate(sample, "repeat-visits", question), "unit_type", "part_no", "action")
    planted = truth.return_rates("unit_type", "part_no", "action", days=days, same_fault=kind == "same-fault")
    cells = [group for group in planted if group in found and found[group]["effective_n"] >= 10]
    assert len(cells) >= 25
    for group in cells:
        assert found[group]["low"] <= planted[group].value <= found[group]["high"], group


def test_planted_minutes_lie_in_their_intervals(sample):
    found = by_group(evaluate(sample, "time-to-fix", Question(by=("unit_type",), level=LEVEL)), "unit_type")
    for group, true in truth.mean_hands_on_minutes().items():
        assert found[group]["low"] <= true.value <= found[group]["high"], group


def test_planted_fixed_shares_lie_in_their_intervals(sample):
    found = by_group(evaluate(sample, "fixed-share", Question(by=("unit_type",), level=LEVEL)), "unit_type")
    for group, true in truth.fixed_shares().items():
        assert found[group]["low"] <= true.value <= found[group]["high"], group


@pytest.mark.parametrize(("name", "group"), truth.MUST_BE_ENOUGH, ids=str)
def test_cells_with_enough_behind_them_are_called_enough(sample, name, group):
    found = by_group(evaluate(sample, name, Question(by=tuple(group))), *group)
    assert found[tuple(group.values())]["sample"] == "enough"
    assert found[tuple(group.values())]["value"] is not None


def test_the_weak_procedure_and_the_freed_wheel_stand_out(sample):
    found = by_group(
        evaluate(sample, "repeat-visits", Question(by=("unit_type", "part_no", "action"), kind="same-fault")),
        "part_no",
        "action",
    )
    everything = evaluate(sample, "repeat-visits", Question(kind="same-fault")).row(0, named=True)
    assert found["BT-3315", "replace"]["low"] > everything["high"]
    assert found["FM-2041", "free"]["low"] > found["FM-2041", "replace"]["high"]
