"""Words that came into use or fell out of it are told; what varies by chance is not."""

from __future__ import annotations

import random
from datetime import date

import pytest

from pipeline.load import load
from pipeline.log_check import as_text, log_check
from pipeline.log_check.drift import changes

SINCE = date(2026, 1, 1)
OLD, NEW = date(2025, 6, 1), date(2026, 2, 1)


def told(**words):
    """Changes of words given as (jobs before, jobs since) of 200 and 100 jobs."""
    counts = {(OLD, None): 200, (NEW, None): 100}
    for word, (before, since) in words.items():
        counts |= {(OLD, word): before, (NEW, word): since}
    return [(change["word"], change["jobs_before"], change["jobs"]) for change in changes(counts, SINCE)]


def test_word_that_came_into_use_and_the_one_it_took_the_place_of_are_told():
    assert told(wear=(150, 40), age=(0, 35), misuse=(50, 25)) == [
        ("age", 0, 35),
        ("wear", 150, 40),
    ]


def test_what_chance_may_do_is_not_told():
    assert told(wear=(100, 55), misuse=(100, 45)) == []


def test_too_few_jobs_say_nothing():
    assert list(changes({(OLD, None): 200, (NEW, None): 29, (NEW, "age"): 29}, SINCE)) == []
    assert list(changes({}, SINCE)) == []


def test_false_alarms_of_a_column_stay_below_five_of_a_hundred():
    rng, alarms = random.Random(4), 0
    for _ in range(300):
        counts = {(OLD, None): 150, (NEW, None): 60}
        for month, jobs in ((OLD, 150), (NEW, 60)):
            for word in rng.choices("abcdef", k=jobs):
                counts[month, word] = counts.get((month, word), 0) + 1
        alarms += bool(list(changes(counts, SINCE)))
    assert alarms <= 0.05 * 300


@pytest.fixture
def store(tmp_path):
    lines = ["job_id,unit_id,unit_type,reported_at,finished_at,cause,part_no,part_name,action,outcome"]
    for n in range(240):
        month = f"{2025 + n // 180}-{n // 15 % 12 + 1:02}"
        cause, number = ("wear", "123456") if n < 195 else ("power", "1.2E+35")
        lines.append(f"J{n},M{n},washer,{month}-02,{month}-03,{cause},{number},drain pump,replace,fixed")
    (tmp_path / "log.csv").write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "parts.csv").write_text("part_no,part_name\n00123456,drain pump\n", encoding="utf-8")
    load(tmp_path / "store", [tmp_path / "log.csv"], parts=tmp_path / "parts.csv", key_path=tmp_path / "key")
    return tmp_path / "store"


def test_log_check_tells_drift_and_damaged_numbers_as_objects_and_as_text(store):
    log, _ = sorted(log_check(store), key=lambda file: file["kind"])
    assert [(row["rule"], row["count"], row["written"]) for row in log["damaged_numbers"]] == [
        ("leading zeros lost", 195, ["123456"]),
        ("lost to a spreadsheet", 45, ["1.2E+35"]),
    ]
    assert {(row["column"], row["word"], row["jobs"], row["jobs_before"]) for row in log["coding_drift"]} == {
        ("cause", "power", 45, 0),
        ("cause", "wear", 0, 180),
    }
    text = " ".join(as_text(log_check(store)).split())
    assert (
        'coded differently: cause "power": 45 of 45 jobs since 2026-02, 0 of 180 in the year before' in text
    )
    assert "part_no damaged: 45 rows (1.2E+35): a spreadsheet made an exponent of it" in text
