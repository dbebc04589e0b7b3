"""Foretelling the later jobs from the earlier ones: nothing of the later is known, scores are those of a plain count."""

import json
from datetime import date
from math import log

import pytest

from pipeline.cli import main
from pipeline.errors import CannotAnswerError
from pipeline.measures.check_order import ISOLATE_MIN
from pipeline.measures.minutes_to_find import MinutesToFind
from pipeline.measures.symptom_back_test import (
    COUNTS,
    LEANING,
    OVERALL,
    Guess,
    Score,
    _calibration,
    back_test,
)
from pipeline.vocabulary.check_minutes import check_table


def test_scores_are_those_worked_out_by_hand():
    guess = Guess({("pump", "replace"): 0.4, ("pump", "clean"): 0.3, ("valve", "replace"): 0.2}, 0.1)
    score = Score()
    score.add(guess, [("pump", "clean"), ("valve", "replace"), ("board", "replace"), ("pump", "clean")])
    assert (score.jobs, score.part_hits, score.fix_hits) == (4, 2, 3)
    assert score.log == pytest.approx(2 * log(0.3) + log(0.2) + log(0.1))
    assert score.cells == [(0.4, 4, 0), (0.3, 4, 2), (0.2, 4, 1), (0.1, 4, 1)]


def test_parts_are_added_up_over_their_actions():
    guess = Guess({("valve", "replace"): 0.4, ("pump", "replace"): 0.3, ("pump", "clean"): 0.3}, 0.0)
    assert guess.first_part() == "pump"
    assert guess.first_fixes()[0] == ("valve", "replace")


def test_calibration_counts_what_happened_by_tenths():
    rows = _calibration([(0.05, 2, 1), (0.95, 1, 1), (1.0, 1, 1)])
    assert [(row["chance_from"], row["guesses"], row["happened"]) for row in rows] == [
        (0.0, 2, 1),
        (0.9, 2, 2),
    ]


def test_on_the_sample_the_answers_are_as_good_as_counts_and_far_better_than_no_symptom(sample):
    tried = back_test(sample)
    rows = {row["method"]: row for row in tried.rows}
    assert {row["jobs"] for row in tried.rows} == {rows[LEANING]["jobs"]}
    assert rows[LEANING]["part_high"] >= rows[COUNTS]["part_share"]
    assert rows[LEANING]["log_score"] >= rows[COUNTS]["log_score"]
    assert rows[LEANING]["part_low"] > rows[OVERALL]["part_high"]
    assert rows[LEANING]["minutes"] <= rows[COUNTS]["minutes"]
    assert rows[LEANING]["minutes_high"] < rows[OVERALL]["minutes_low"]
    # A chance that is given comes true as often as it says, but for chance (three standard errors) in any tenth; on
    # average over all of them within three points.
    apart = [abs(row["share"] - row["mean_chance"]) for row in tried.calibration]
    for row, distance in zip(tried.calibration, apart, strict=True):
        p = row["mean_chance"]
        assert distance < 3 * (p * (1 - p) / row["guesses"]) ** 0.5
    guesses = [row["guesses"] for row in tried.calibration]
    assert sum(n * distance for n, distance in zip(guesses, apart, strict=True)) < 0.03 * sum(guesses)


def test_a_day_without_later_jobs_is_refused(sample):
    with pytest.raises(CannotAnswerError, match="a back-test needs 30"):
        back_test(sample, ("not filling",), date(2026, 2, 20))


def test_command_prints_scores_and_calibration(sample_store, capsys):
    arguments = [
        "symptom",
        "not filling",
        "--back-test",
        "--before",
        "2025-06-01",
        "--store",
        str(sample_store),
    ]
    assert main([*arguments, "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [row["method"] for row in rows] == [LEANING, COUNTS, OVERALL]
    assert rows[0]["calibration"]
    assert main(["symptom", "--store", str(sample_store)]) == 2


def test_minutes_to_find_count_isolation_the_look_checks_and_each_panel_once():
    table = check_table()
    of = {name: table.of_part(name, "washer") for name in ("drain pump", "carbon brushes")}
    chances = {"DP": 0.6, "CB": 0.3, "outside: tap closed": 0.1}
    names = {"DP": "drain pump", "CB": "carbon brushes"}
    finding = MinutesToFind(chances, 0.0, names, table, "washer", most_often_first=True)
    look = ISOLATE_MIN + table.installation.minutes
    assert finding.of("outside: tap closed") == look
    way = {name: table.way_to(entry.behind) for name, entry in of.items()}
    pump = look + of["drain pump"].minutes + sum(table.panels[panel].minutes for panel in way["drain pump"])
    assert finding.of("DP") == pytest.approx(pump)
    more = [panel for panel in way["carbon brushes"] if panel not in way["drain pump"]]
    brushes = pump + of["carbon brushes"].minutes + sum(table.panels[panel].minutes for panel in more)
    assert finding.of("CB") == pytest.approx(brushes)
    # Together, the first of their checks finds it; what nobody looks at costs every step.
    assert finding.of("CB + DP") == pytest.approx(pump)
    assert finding.of("XX") == pytest.approx(brushes)
