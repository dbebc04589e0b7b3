"""The fold for a statistician: definition, population, window, interval, follow-up, rows, queries, fingerprint."""

import pytest

from dashboards import data, workings
from pipeline.measures import MEASURES, Question, evaluate_with_working


def test_a_statistician_finds_everything_behind_a_figure(sample):
    working = evaluate_with_working(sample, "repeat-visits", Question(by=("unit_type",)))[1]
    html = workings.as_html([working])
    for said in (
        f"Definition {working.definition_version}",
        "fixed jobs on known machines",
        "2023-03-01 00:00:00 up to, and without, 2026-",
        "censored there",
        "95 %. Aalen and Johansen (1978)",
        "used",
        working.fingerprint,
        "from facts.repeats",
        "$from_utc = 2023-03-01",
    ):
        assert said in html
    assert html.count("<details") == 2


def test_nothing_stands_where_nothing_was_worked_out():
    assert workings.as_html([]) == ""


def test_each_figure_is_heard_once_and_only_while_somebody_listens(sample):
    working = evaluate_with_working(sample, "fixed-share")[1]
    answer = data.Answer(working=working)
    with data.hearing() as heard:
        data._note(answer)
        data._note(answer)
        assert data.heard_so_far() == (answer,)
    data._note(answer)
    assert heard == [answer]
    assert data.heard_so_far() == ()


@pytest.mark.parametrize("name", sorted(MEASURES))
def test_every_measure_says_until_when_it_follows(name):
    assert MEASURES[name].followed
