"""Minutes of checks: from the log where ten are recorded, else from the table, and always with the word where from."""

import re
from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.cli import main
from pipeline.measures.check_order import check_order
from pipeline.measures.check_words import order_text
from pipeline.measures.timed_checks import timed_checks
from pipeline.vocabulary.check_minutes import ASSUMPTION, INSTALLATION, SHOP, check_table
from pipeline.vocabulary.recorded_minutes import LEAST_CHECKS, Recorded
from tests.builds import built, connect
from tests.measures.test_check_order import fixes

PUMP = ("look into the pump", "")
LOCK = ("", "door lock")


def log(*groups):
    """The two tables that are asked, from (kind, (words, part), minutes of each job's check), a job a day."""
    con = connect()
    con.execute("create schema facts; create schema tables")
    con.execute("create table tables.parts (part_key varchar, part_no varchar, part_name varchar)")
    con.execute(
        "create table facts.timed_checks (job_no bigint, unit_type varchar, finished_on date, part_key varchar, "
        '"check" varchar, check_min double)'
    )
    rows = []
    for kind, (words, part), minutes in groups:
        for took in minutes:
            number = len(rows) + 1
            key = f"name: {part}" if part else None
            rows.append((number, kind, date(2026, 1, 1) + timedelta(days=number), key, words or None, took))
    if rows:
        con.executemany("insert into facts.timed_checks values (?, ?, ?, ?, ?, ?)", rows)
    return con


def minutes(table, part, kind="washer"):
    entry = table.of_part(part, kind)
    return entry.minutes, entry.source


TEN = [8, 9, 9, 10, 10, 11, 11, 12, 13, 40]


def test_ten_checks_of_a_part_on_the_kind_give_their_middle_and_say_so():
    table = timed_checks(log(("washer", PUMP, TEN), ("dryer", PUMP, [2] * 20)))
    assert minutes(table, "drain pump") == (10.5, "from 10 checks in the log")
    assert minutes(table, "drain pump", "dryer") == (2.0, "from 20 checks in the log")


def test_with_fewer_on_the_kind_all_kinds_count_and_with_fewer_in_all_the_table():
    table = timed_checks(log(("washer", PUMP, TEN[:6]), ("dryer", PUMP, TEN[6:]), ("washer", LOCK, TEN[1:])))
    assert minutes(table, "drain pump") == (10.5, "from 10 checks in the log, all kinds of machine")
    assert minutes(table, "drain pump", "") == (10.5, "from 10 checks in the log")
    assert minutes(table, "door lock") == (check_table().of_part("door lock").minutes, ASSUMPTION)


@pytest.mark.parametrize(
    ("checked", "part"),
    [
        (("", "d/pump"), "drain pump"),  # the line names it in other words
        (("Look into the pump", "door lock"), "drain pump"),  # the words say what was looked at
        (("resistance of the heater", ""), "heating element"),  # the words name one part
        (("door lock, heater", "drain pump"), "drain pump"),  # the words name two: the line decides
        (("Steckverbinder", "drain pump"), "drain pump"),
        (("", "odd bracket"), "odd bracket"),  # a part that the table does not have
    ],
)
def test_what_was_checked_is_told_by_the_words_or_else_by_the_part_of_the_line(checked, part):
    table = timed_checks(log(("washer", checked, TEN)))
    assert set(table.recorded) == {("washer", part), ("", part)}
    assert minutes(table, part) == (10.5, "from 10 checks in the log")


def test_words_that_name_no_part_count_for_none():
    assert not timed_checks(log(("washer", ("run a short programme", ""), TEN))).recorded


def test_the_look_at_the_installation_is_timed_as_well():
    table = timed_checks(log(("washer", ("installation", ""), TEN)))
    assert (table.look("washer").minutes, table.look("washer").source) == (10.5, "from 10 checks in the log")
    order = check_order(fixes(("D", "door latch", 5.0)), table, "washer")
    assert [step.minutes for step in order.steps if step.stage == INSTALLATION] == [10.5]


def test_the_log_wins_over_the_shops_table_unless_the_shop_says_otherwise(tmp_path):
    con = log(("washer", PUMP, TEN))
    own = tmp_path / "check_minutes.toml"
    own.write_text('[parts."drain pump"]\nminutes = 20\n')
    assert minutes(timed_checks(con, tmp_path), "drain pump") == (10.5, "from 10 checks in the log")
    own.write_text('[parts."drain pump"]\nminutes = 20\nfrom_log = false\n')
    assert minutes(timed_checks(con, tmp_path), "drain pump") == (20.0, SHOP)
    # Its own words for a check are known too.
    own.write_text('[parts."drain pump"]\nwritten = ["rattle it"]\n')
    rattled = timed_checks(log(("washer", ("Rattle it!", ""), TEN[:5]), ("washer", PUMP, TEN[5:])), tmp_path)
    assert minutes(rattled, "drain pump")[0] == 10.5
    # Words alone make no minutes the shop's own.
    assert check_table(tmp_path).of_part("drain pump").source == ASSUMPTION


def test_only_what_was_known_before_a_day_counts():
    con = log(("washer", PUMP, [5] * 10), ("washer", PUMP, [9] * 11))
    assert minutes(timed_checks(con, until=date(2026, 1, 12)), "drain pump")[0] == 5.0
    assert minutes(timed_checks(con), "drain pump")[0] == 9.0


def test_a_log_without_minutes_of_checks_goes_by_the_table_as_it_stands():
    con = log()
    assert timed_checks(con) == check_table()
    text = order_text(
        check_order(fixes(("D", "drain pump", 5.0), ("L", "door lock", 5.0)), timed_checks(con))
    )
    assert "in the log" not in text
    assert "Minutes of 4 of 4 steps are assumptions" in text


def test_the_order_goes_by_the_minutes_of_the_log_and_says_which_are_from_where():
    found = fixes(("P", "drain pump", 50.0), ("L", "lint filter", 40.0))
    slow = timed_checks(log(("washer", PUMP, [60] * 34)))
    assert [step.part_name for step in check_order(found, check_table()).steps[2:]] == [
        "lint filter",
        "drain pump",
    ]
    quick = timed_checks(log(("washer", ("", "lint filter"), [30] * 12)))
    order = check_order(found, quick, "washer")
    assert [step.part_name for step in order.steps[2:]] == ["drain pump", "lint filter"]
    text = order_text(check_order(found, slow, "washer"))
    assert "(60 min from 34 checks in the log, 4 min more for: lower panel)" in text
    assert "Minutes of 3 of 4 steps are assumptions" in text
    assert "Minutes of 1 of 4 steps are the middle of those in the log." in text


def test_orders_are_told_apart_by_what_the_log_leaves_open():
    """Assumed minutes of two like checks may be either way round; a hundred recorded ones say which is the shorter."""
    found = fixes(("D", "door latch", 500.0), ("L", "lint filter", 500.0))
    assert check_order(found, check_table()).steps[-2].same_as_next
    table = timed_checks(
        log(("washer", ("", "door latch"), [4, 5] * 50), ("washer", ("", "lint filter"), [9] * 100))
    )
    order = check_order(found, table, "washer")
    assert [step.part_name for step in order.steps[2:]] == ["door latch", "lint filter"]
    assert not order.steps[-2].same_as_next


def test_what_leaves_the_firm_needs_ten_jobs_and_tells_no_count():
    con = log(("washer", PUMP, TEN))
    assert minutes(timed_checks(con).shared(10), "drain pump") == (10.0, "from the log")
    con.execute("update facts.timed_checks set job_no = 1 where job_no = 2")
    assert minutes(timed_checks(con), "drain pump")[1] == "from 10 checks in the log"
    assert minutes(timed_checks(con).shared(10), "drain pump")[1] == ASSUMPTION


def test_a_whole_build_carries_the_minutes_to_the_order():
    day = "2026-01-05"
    head = "job_id | unit_id | unit_type | reported_at | finished_at | check | check_min | part_name | action | outcome"
    lines = [
        f"J{n} | M{n} | washer | {day} | {day} | | {8 + n % 3} min | d/pump | test | fixed" for n in range(12)
    ]
    with built("\n".join([head, *lines])) as con:
        assert minutes(timed_checks(con), "drain pump") == (9.0, "from 12 checks in the log")
        assert con.execute("select sum(check_min) from tables.line_fields").fetchall() == [(12,)]


@pytest.mark.parametrize("minutes_of", [[3], [3, 4], [1, 1, 7], TEN, [5, 2, 9, 9, 1]])
def test_the_middle_is_the_median(minutes_of):
    values, counts = np.unique(minutes_of, return_counts=True)
    assert Recorded(tuple(values), tuple(counts), 1).median == np.median(minutes_of)


def test_drawn_middles_spread_as_middles_of_as_many_checks_do():
    """Against medians of fresh samples of a known law: 25 lengths of time, log-normal."""
    rng = np.random.default_rng(1)
    spread, of_truth = [], []
    for _ in range(300):
        values, counts = np.unique(rng.lognormal(2.0, 0.4, 25), return_counts=True)
        drawn = Recorded(tuple(values), tuple(int(n) for n in counts), 25).medians(rng, 200)
        spread.append(np.log(drawn).std())
        of_truth.append(np.log(np.median(rng.lognormal(2.0, 0.4, 25))))
    assert np.mean(spread) == pytest.approx(np.std(of_truth), rel=0.15)
    assert LEAST_CHECKS == 10


def test_a_table_with_words_that_are_no_list_is_refused(tmp_path):
    from pipeline.errors import UnreadableError

    (tmp_path / "check_minutes.toml").write_text('[parts.x]\nwritten = "look"\n')
    with pytest.raises(UnreadableError, match=r"parts\.x\.written must be a list of words"):
        check_table(tmp_path)


def test_the_sample_shows_both_kinds_of_source(sample):
    table = timed_checks(sample)
    count, took = sample.execute(
        """select count(*), median(check_min) from facts.timed_checks
        where "check" = 'turn the wheel by hand' and unit_type = 'dishwasher'"""
    ).fetchall()[0]
    assert minutes(table, "flow meter", "dishwasher") == (took, f"from {count} checks in the log")
    assert minutes(table, "door lock")[1] == ASSUMPTION


def test_the_command_says_where_the_minutes_come_from(sample_store, capsys):
    assert main(["symptom", "not filling", "--type", "dishwasher", "--store", str(sample_store)]) == 0
    said = capsys.readouterr().out
    assert re.search(r"flow meter: .*\(\d+(\.5)? min from \d\d+ checks in the log, 10 min more for: ", said)
    assert "steps are the middle of those in the log." in said
    assert "steps are assumptions; the shop's own go into vocabulary/check_minutes.toml." in said
