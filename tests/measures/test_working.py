"""How a figure was worked out: everything behind it is said, and a second run gives the same fingerprint."""

import re

import duckdb
import pytest

from pipeline.cli import main
from pipeline.measures import MEASURES, Question, evaluate, evaluate_with_working

# The invented firm does not say what an hour of its own work costs.
REFUSED = {"clean-or-replace"}


@pytest.mark.parametrize("name", sorted(set(MEASURES) - REFUSED))
def test_every_measure_names_the_queries_behind_it(sample, name):
    question = Question(people=True)
    result, working = evaluate_with_working(sample, name, question)
    assert result.equals(evaluate(sample, name, question))
    assert working.queries
    for asked in working.queries:
        assert asked.sql.strip().lower().startswith(("select", "with"))
        # The query as it is said can be put again by hand.
        sample.execute(asked.sql, dict(asked.values)).fetchall()


def test_second_run_gives_the_same_fingerprint(sample):
    one, two = (
        evaluate_with_working(sample, "repeat-visits", Question(by=("part_no",)))[1] for _ in range(2)
    )
    assert one.fingerprint == two.fingerprint


def test_another_question_or_answer_has_another_fingerprint(sample):
    prints = {
        evaluate_with_working(sample, "repeat-visits", question)[1].fingerprint
        for question in (
            Question(),
            Question(days=90),
            Question(kind="same-fault"),
            Question(by=("unit_type",)),
        )
    }
    assert len(prints) == 4


def test_working_accounts_for_every_row_received(sample):
    working = evaluate_with_working(sample, "fixed-share")[1]
    received = sample.execute("select count(*) from normalise.lines").fetchone()[0]
    assert sum(count for _, _, count in working.fates) == received
    assert {fate for fate, _, _ in working.fates} >= {"used", "repeated"}


def test_definition_version_changes_with_the_definition_and_not_with_the_question(sample, monkeypatch):
    from dataclasses import replace

    before = evaluate_with_working(sample, "fixed-share")[1]
    wider = evaluate_with_working(sample, "fixed-share", Question(by=("unit_type",), days=90))[1]
    assert wider.definition_version == before.definition_version
    changed = replace(MEASURES["fixed-share"], definition="Something else.")
    monkeypatch.setitem(MEASURES, "fixed-share", changed)
    assert evaluate_with_working(sample, "fixed-share")[1].definition_version != before.definition_version


def test_command_says_the_working_beside_the_figure(sample_store, capsys):
    assert (
        main(["measure", "fixed-share", "--working", "--format", "json", "--store", str(sample_store)]) == 0
    )
    out, err = capsys.readouterr()
    assert out.lstrip().startswith("[")
    for word in (
        "Definition",
        "Interval: 95 %. Wilson (1927)",
        "Window: 2023-03-01",
        "Rows received",
        "Fingerprint",
        "Query 1:",
    ):
        assert word in err


def test_listening_does_not_keep_queries_of_others(sample):
    from pipeline.measures.query import ask, listening

    with listening() as heard:
        assert ask(sample, "select 1 as one", {}).item() == 1
    ask(sample, "select 2 as two", {})
    assert [asked.sql for asked in heard] == ["select 1 as one"]
    assert isinstance(sample, duckdb.DuckDBPyConnection)


def test_remarks_of_many_rows_are_told_once_with_how_far_their_numbers_go(sample):
    notes = evaluate_with_working(sample, "part-failure-rate", Question(by=("part_no",)))[1].notes
    assert len(notes) == 2
    told = dict(note.rsplit(" (", 1) for note in notes)
    assert re.fullmatch(r"\d+ of 43 rows\)", told["exact Poisson interval"])
    assert any(
        re.fullmatch(r"by-unit interval, variance 0\.\d\d to 1\.\d\d times Poisson's", note) for note in told
    )


def test_choices_told_are_those_that_the_figure_depends_on(sample):
    def choices(name, **asked):
        return evaluate_with_working(sample, name, Question(**asked))[1].choices

    assert choices("fixed-share") == "the figure as it stands"
    assert choices("time-to-fix") == "clock hands-on"
    assert choices("repeat-visits", by=("unit_type",)) == "by unit_type; days 30; kind any"
    assert choices("part-failure-rate", basis="machines-seen") == "basis machines-seen"
