"""What stands beside a failure rate: confirmed failures, open jobs, rates drawn toward the type."""

from datetime import datetime

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from sample_logs import truth
from tests.builds import built


@pytest.fixture(scope="module")
def by_model(sample):
    return evaluate(sample, "part-failure-rate", Question(by=("unit_type", "model")))


def test_confirmed_failures_are_failures_and_failures_are_jobs(sample):
    result = evaluate(sample, "part-failure-rate")
    assert (result["confirmed"] <= result["numerator"]).all()
    assert (result["numerator"] <= result["jobs"]).all()
    # Wrong diagnoses are planted, so some failures are not confirmed.
    assert result["confirmed"].sum() < result["numerator"].sum()


def test_jobs_in_which_another_part_was_worked_on_too_stand_beside_the_jobs():
    con = built(
        """
        job_id | unit_type | reported_at | finished_at | outcome | part_no | action
        J1     | washer    | 2026-01-05  | 2026-01-06  | fixed   | P1      | replace
        J1     | washer    | 2026-01-05  | 2026-01-06  | fixed   | P2      | clean
        J2     | washer    | 2026-01-07  | 2026-01-08  | fixed   | P1      | replace
        J2     | washer    | 2026-01-07  | 2026-01-08  | fixed   | P1      | clean
        J3     | washer    | 2026-01-09  | 2026-01-09  | fixed   | P2      | clean
        J3     | washer    | 2026-01-09  | 2026-01-09  | fixed   | P3      | inspect
        """
    )
    shares = evaluate(con, "part-failure-rate", Question(complete_to=datetime(2026, 2, 1)))
    assert shares.select("part_no", "done_together", "jobs").rows() == [("P1", 1, 2), ("P2", 1, 2)]


def test_followed_jobs_done_together_are_some_of_the_jobs(sample):
    result = evaluate(sample, "part-failure-rate")
    assert (result["done_together"] <= result["jobs"]).all()
    assert 0 < result["done_together"].sum() < result["jobs"].sum()


def test_rates_drawn_toward_their_type_lie_nearer_the_planted_ones(by_model):
    planted = truth.part_failure_rates("unit_type", "model", complete_to=by_model["complete_to"][0].date())
    own, drawn, count = 0.0, 0.0, 0
    for row in by_model.iter_rows(named=True):
        true = planted.get((row["unit_type"], row["model"], row["part_no"]))
        if true is not None and row["part_no"] not in truth.SPLIT_BY_SUPERSESSION:
            # In units of its own sampling variance, so that no common part decides alone.
            variance = true.value / row["denominator"]
            own += (row["numerator"] / row["denominator"] - true.value) ** 2 / variance
            drawn += (row["shrunk"] - true.value) ** 2 / variance
            count += 1
    assert count >= 50
    assert drawn < own


def test_models_that_are_drawn_in_are_also_known_better(by_model):
    narrower = (by_model["shrunk_high"] - by_model["shrunk_low"]) < (by_model["high"] - by_model["low"])
    assert narrower.mean() > 0.9


def test_without_models_there_is_nothing_to_draw_toward(sample):
    assert (
        evaluate(sample, "part-failure-rate")["shrunk"].null_count()
        == evaluate(sample, "part-failure-rate").height
    )


def test_a_machine_that_was_always_under_repair_was_followed_for_no_day():
    rows = "\n".join(
        f"J{n} | washer | M1 | 2026-0{n}-01 | 2026-0{n}-28 | fixed | P1 | replace" for n in range(1, 6)
    )
    con = built(
        f"job_id | unit_type | unit_id | reported_at | finished_at | outcome | part_no | action\n{rows}"
    )
    with pytest.raises(
        CannotAnswerError, match=r"No machine was followed for a single day .* the 30 after it"
    ):
        evaluate(con, "part-failure-rate")
