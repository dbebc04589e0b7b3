"""Every figure keeps the result contract, whatever it is grouped by."""

import math

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures import MEASURES, Question, evaluate
from pipeline.measures.result import CONTRACT

CASES = [
    ("part-failure-rate", Question()),
    ("part-failure-rate", Question(by=("unit_type", "part_no", "age_band"))),
    ("part-failure-rate", Question(by=("model",), basis="machines-seen")),
    ("part-failure-rate", Question(by=("unit_type",), basis="shares")),
    ("part-failure-rate", Question(by=("function_group", "age_band"))),
    ("part-life", Question(by=("function_group", "action"))),
    ("repeat-visits", Question()),
    ("repeat-visits", Question(by=("part_no", "action"), days=90, kind="same-fault")),
    ("repeat-visits", Question(by=("symptom", "month"))),
    ("time-to-fix", Question(by=("unit_type",))),
    ("time-to-fix", Question(by=("part_no", "action"), clock="restored")),
    ("time-to-fix", Question(by=("age_band",), clock="visits")),
    ("fixed-share", Question(by=("make", "symptom"))),
    ("not-fixed-reasons", Question()),
    ("first-visit", Question()),
    ("first-visit", Question(by=("unit_type", "month"), days=90)),
    ("second-visits", Question()),
    ("second-visits", Question(by=("unit_type", "part_no"))),
    ("repeat-visits", Question(by=("test_run",))),
    ("not-fixed-reasons", Question(by=("leak_check",))),
    ("no-fault-found", Question()),
    ("no-fault-found", Question(by=("symptom",), kind="same-fault")),
    ("wrong-part", Question()),
    ("wrong-part", Question(by=("unit_type",))),
    ("unpaid-hours", Question()),
    ("fix-payoff", Question()),
    ("fix-payoff", Question(by=("unit_type", "symptom"), hour_costs=35.0, pricing="flat", flat_price=140.0)),
    ("outside-causes", Question()),
    ("clean-or-replace", Question(hour_costs=35.0, customer_day=40.0)),
    ("clean-or-replace", Question(by=("mechanism",), hour_costs=35.0, pricing="labour credited on return")),
    ("repeat-visits", Question(by=("part_no", "mechanism"))),
    ("wrong-part", Question(by=("mechanism",))),
    ("safety-reports", Question()),
    ("procedures", Question()),
    ("changes", Question()),
    ("unpaid-hours", Question(by=("make", "month"))),
]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0]} {'+'.join(case[1].by)}")
def result(request, sample):
    name, question = request.param
    return evaluate(sample, name, question)


def test_contract_columns_stand_together_in_their_order(result):
    start = result.columns.index("value")
    assert result.columns[start : start + len(CONTRACT)] == list(CONTRACT)


def test_value_is_null_exactly_where_there_are_too_few(result):
    for row in result.iter_rows(named=True):
        assert (row["value"] is None) == (row["sample"] == "too few")
        assert row["sample"] in ("enough", "rough", "too few")


def test_value_lies_in_its_interval_and_nothing_is_not_a_number(result):
    for row in result.iter_rows(named=True):
        assert not any(isinstance(cell, float) and not math.isfinite(cell) for cell in row.values())
        if row["value"] is not None:
            assert row["low"] is None or row["low"] <= row["value"] + 1e-12
            assert row["high"] is None or row["value"] <= row["high"] + 1e-12


def test_groups_are_distinct(result):
    groups = result.columns[: result.columns.index("value")]
    assert not groups or result.select(groups).is_unique().all()


def test_any_repeat_is_same_fault_and_other_together(sample):
    same = evaluate(sample, "repeat-visits", Question(days=90, kind="same-fault")).row(0, named=True)
    both = evaluate(sample, "repeat-visits", Question(days=90)).row(0, named=True)
    assert same["value"] < both["value"]
    assert same["denominator"] == both["denominator"]


def test_one_group_asked_for_alone_is_as_it_is_among_the_others(sample):
    by, days = ("unit_type", "symptom", "part_no", "action"), 90
    only = (("unit_type", "dishwasher"), ("symptom", "not filling"))
    everything = evaluate(sample, "repeat-visits", Question(by=by, days=days))
    alone = evaluate(sample, "repeat-visits", Question(by=by, days=days, only=only))
    among = everything.filter(unit_type="dishwasher", symptom="not filling")
    assert alone.height == among.height > 1
    # Bands hold a group against all others that were looked at: those alone are others.
    same = [name for name in alone.columns if name not in ("band", "adjusted_p")]
    assert alone.select(same).sort(by).equals(among.select(same).sort(by))


def test_one_group_is_refused_where_the_figure_or_its_groups_do_not_have_it(sample):
    with pytest.raises(WrongUseError, match="leave `only` out"):
        evaluate(sample, "fixed-share", Question(only=(("unit_type", "washer"),)))
    with pytest.raises(WrongUseError, match="symptom"):
        evaluate(sample, "repeat-visits", Question(by=("unit_type",), only=(("symptom", "noisy"),)))


def test_figures_by_technician_are_off_until_asked_for(sample):
    with pytest.raises(WrongUseError, match="--people"):
        evaluate(sample, "time-to-fix", Question(by=("technician",)))


def test_unknown_group_is_refused_with_what_there_is(sample):
    with pytest.raises(WrongUseError, match=r"it can be .*unit_type"):
        evaluate(sample, "repeat-visits", Question(by=("colour",)))


def test_unknown_measure_is_refused_with_what_there_is(sample):
    with pytest.raises(WrongUseError, match="fixed-share"):
        evaluate(sample, "profit")


def test_window_before_the_log_has_nothing_to_say(sample):
    from datetime import datetime

    question = Question(from_at=datetime(1999, 1, 1), complete_to=datetime(1999, 2, 1), people=True)
    for name, measure in MEASURES.items():
        if measure.when_none:
            assert evaluate(sample, name, question).height == 0
            continue
        with pytest.raises(CannotAnswerError):
            evaluate(sample, name, question)


@pytest.mark.parametrize("name", ["fixed-share", "first-visit", "no-fault-found", "time-to-fix"])
def test_the_symptoms_with_most_jobs_are_the_same_rows_as_among_all(sample, name):
    """Two of each kind of machine; which they are is counted here from all rows."""
    by = ("unit_type", "symptom")
    every = evaluate(sample, name, Question(by=by))
    two = evaluate(sample, name, Question(by=by, most=2))
    assert two.group_by("unit_type").len()["len"].max() == 2
    among = every.join(two, on=by, how="semi", nulls_equal=True, maintain_order="left")
    # Limits of a mean are drawn, and the draws depend on which groups are drawn together.
    drawn = ("low", "high") if name == "time-to-fix" else ()
    assert_frame_equal(among.drop(drawn), two.drop(drawn))
    jobs = "denominator" if name != "fixed-share" else "all_jobs"
    least = two.group_by("unit_type").agg(pl.col(jobs).min().alias("least"))
    others = every.join(two, on=by, how="anti", nulls_equal=True).join(
        least, on="unit_type", nulls_equal=True
    )
    assert others.height > 10
    if (
        name != "first-visit"
    ):  # there visits that needed no fix count among the records, and not below the line
        assert (others[jobs] <= others["least"]).all()
