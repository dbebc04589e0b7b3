"""Figures about people: off until asked for, nobody with fewer than 30 jobs, nobody placed among the others."""

import re

import polars as pl
import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures import MEASURES, Question, evaluate
from pipeline.measures.people import FEWEST_JOBS, TOO_FEW, guarded

ASKED = Question(by=("technician",), people=True, hour_costs=35.0, customer_day=40.0)


def by_technician():
    """Names of the measures that may be split by technician."""
    return [name for name in MEASURES if name not in ("technicians", "safety-reports")]


def rows(*jobs, **more):
    frame = {
        "technician": ["a", "b", None][: len(jobs)],
        "value": [0.5] * len(jobs),
        "denominator": list(map(float, jobs)),
        "note": ["n", "", ""][: len(jobs)],
    }
    return pl.DataFrame({**frame, **more})


@pytest.mark.parametrize("name", by_technician())
def test_no_figure_is_about_a_person_unless_asked_for(sample, name):
    with pytest.raises(WrongUseError, match=r"--people|cannot be|no other --by|takes no --by"):
        evaluate(sample, name, Question(by=("technician",), hour_costs=35.0, customer_day=40.0))


@pytest.mark.parametrize("name", by_technician())
def test_no_figure_is_about_a_person_with_few_jobs_nor_ranks_one(sample, name):
    try:
        found = evaluate(sample, name, ASKED)
    except (WrongUseError, CannotAnswerError):
        return
    named = found.drop_nulls("technician")
    assert named.height
    assert named.get_column("jobs" if "jobs" in named.columns else "denominator").min() >= FEWEST_JOBS
    assert not [
        name for name in ("band", "adjusted_p") if name in named.columns and named[name].drop_nulls().len()
    ]
    assert named.get_column("technician").is_sorted()


def test_sample_answers_some_figures_by_technician(sample):
    assert evaluate(sample, "fixed-share", ASKED).height > 1
    assert evaluate(sample, "repeat-visits", ASKED).height > 1


def test_people_with_few_jobs_are_left_out_and_that_is_said():
    found = guarded(rows(30, 29, 3))
    assert found["technician"].to_list() == ["a", None]
    assert found["note"].to_list() == [
        "n; rows about a person with fewer than 30 jobs are left out (1)",
        "rows about a person with fewer than 30 jobs are left out (1)",
    ]


def test_where_nobody_has_enough_jobs_one_sentence_says_so():
    with pytest.raises(CannotAnswerError, match=re.escape(TOO_FEW)):
        guarded(rows(29, 3))


def test_other_figures_are_left_as_they_are():
    frame = rows(3, 3).drop("technician")
    assert guarded(frame) is frame


def test_jobs_count_where_the_denominator_is_something_else():
    assert guarded(rows(900, 900, jobs=[30, 29]))["technician"].to_list() == ["a"]
