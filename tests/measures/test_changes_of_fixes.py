"""Returns after fixes that come more often from a day on: told soon, and false alarms about as many as stated."""

from datetime import UTC, datetime, timedelta

import duckdb
import numpy as np
import polars as pl
import pytest

from pipeline.estimators.cusum import FEWEST_BEFORE
from pipeline.measures.changes import FALSE_ALARMS_A_YEAR, WORTH_A_LOOK, _chart_rows
from pipeline.measures.changes_charts import returns_after_fixes
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, Window

START = datetime(2022, 1, 3, tzinfo=UTC).date()
DAYS, SPLIT, CHANGED = 1096, 548, 640
YEARS = (DAYS - SPLIT) / 365.25
FIRMS, ALL_FIRMS = 6, 334  # of a year and a half each: 501 years
ACTIONS, PARTS = ("replace", "clean", "adjust"), 12


def fixes(rng, *, times=1.0):
    """
    A firm's fixes: 36 of 20 to 250 a year, 5 to 25 in 100 of which come back, mostly early; other reports end some follow-ups.

    The first, 150 a year of which 10 in 100 come back, comes back `times` as often where it is done from CHANGED on.
    """
    count = len(ACTIONS) * PARTS
    a_year, chance = rng.uniform(20, 250, count), rng.uniform(0.05, 0.25, count)
    a_year[0], chance[0] = 150, 0.10
    fix = np.repeat(np.arange(count), rng.poisson(a_year * DAYS / 365.25))
    finished = rng.integers(0, DAYS, len(fix))
    odds = np.where((fix == 0) & (finished >= CHANGED), times, 1.0)
    returns = rng.random(len(fix)) < np.minimum(chance[fix] * odds, 0.9)
    after = np.where(returns, np.minimum(rng.exponential(30, len(fix)), 89), rng.exponential(700, len(fix)))
    return pl.DataFrame(
        {
            "job_no": np.arange(len(fix)),
            "part": [f"P{number // len(ACTIONS)}" for number in fix.tolist()],
            "action": [ACTIONS[number % len(ACTIONS)] for number in fix.tolist()],
            "finished": finished,
            "after": after.astype(np.int64) + 1,
            "is_same": returns,
        }
    )


def database(drawn):
    con = duckdb.connect()
    con.register("drawn", drawn)
    con.execute(
        f"""
        create schema facts; create schema tables;
        create table facts.repeats as select job_no, date '{START}' + cast(finished as integer) as finished_on,
            (date '{START}' + cast(finished as integer))::timestamp as finished_at, date '{START}' + cast(finished + after as integer) as next_on,
            after as days_to_next, is_same as next_is_same_fault, null::date as removed_on from drawn;
        create table tables.jobs as select job_no, 'washer' as unit_type from drawn;
        create table facts.part_works as select job_no, part as part_key, action, null::varchar as part_source from drawn;
        create table tables.parts as select distinct part as part_key, part as part_no, part as part_name from drawn;
        create table tables.part_groups (part_key varchar, function_group varchar);
        create table facts.part_mechanisms (job_no bigint, part_key varchar, mechanism varchar);
        """
    )
    return con


def told(seed, **how):
    """Rows of the charts of one firm."""
    con = database(fixes(np.random.default_rng(seed), **how))
    to_on, split_on = START + timedelta(days=DAYS), START + timedelta(days=SPLIT)
    from_at, to_at = (datetime.combine(day, datetime.min.time()) for day in (START, to_on))
    bounds = Bounds(Window(from_at, to_at), START, to_on, from_at, to_at)
    charts = list(returns_after_fixes(con, bounds, split_on))
    con.close()
    enough = [chart for chart in charts if chart.before >= FEWEST_BEFORE]
    return _chart_rows(enough, len(charts), question=Question(), bounds=bounds, split_on=split_on)


def alarms_a_year(seeds):
    """False alarms a year over all charts of a firm, and how many are stated."""
    alarms, stated = 0, []
    for seed in seeds:
        rows = told(seed)
        alarms += sum(row["band"] == WORTH_A_LOOK for row in rows)
        stated.append(rows[0]["false_alarms_a_year"])
    return alarms / (len(stated) * YEARS), float(np.mean(stated))


def found(seeds, times):
    """Share of firms in which the changed fix is told; median days from the change until then."""
    days = []
    for seed in seeds:
        (row,) = (
            row for row in told(seed, times=times) if (row["part_no"], row["action"]) == ("P0", "replace")
        )
        if row["band"] == WORTH_A_LOOK:
            days.append((row["told_on"] - START).days - CHANGED)
    return len(days) / len(seeds), float(np.median(days)) if days else None


def test_false_alarms_after_fixes_are_about_as_many_as_stated():
    alarms, stated = alarms_a_year(range(FIRMS))
    # A chart takes part in no more than 5 in 100 false alarms, so that a firm with few charts states fewer.
    assert 0.9 * FALSE_ALARMS_A_YEAR <= stated <= FALSE_ALARMS_A_YEAR
    # 9 years: 9 alarms are stated; chance alone gives 3 to 18 in 99 of 100 (Poisson).
    assert 3 <= alarms * FIRMS * YEARS <= 18


def test_fix_that_comes_back_three_times_as_often_is_told():
    share, days = found(range(4), 3.0)
    assert share == 1.0
    assert days <= 200


@pytest.mark.full
def test_false_alarms_after_fixes_in_full():
    """501 years: 334 firms with 36 fixes, watched for a year and a half each; a false alarm a year is stated."""
    alarms, stated = alarms_a_year(range(1000, 1000 + ALL_FIRMS))
    print(alarms, stated)
    assert abs(alarms / stated - 1.0) <= 0.20


@pytest.mark.full
def test_changed_fixes_are_told_in_full():
    """200 firms: a fix done 150 times a year, of which 10 in 100 came back; from a day on three times as many, or twice."""
    tripled, doubled = found(range(1000, 1200), 3.0), found(range(1000, 1200), 2.0)
    print(tripled, doubled)
    assert tripled[0] >= 0.90
