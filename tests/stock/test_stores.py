"""mendstat stores: levels from what jobs needed, waits for what was missing, what never moves."""

import json
from datetime import date, timedelta

import pytest
from scipy import stats

from pipeline.cli import main
from tests.twins.intermittent import size_and_chance, unbiased_croston

HEADER = "job_id,job_kind,unit_id,unit_type,reported_at,started_at,finished_at,part_no,part_status,quantity,action,outcome\n"
PARTS = """part_no,part_name,fits,unit_cost,lead_days,volume_l,replaced_by,least_order
PUMP-1,drain pump,washer,30.00,10,1.5,,
SEAL-2,door seal,washer,12.00,,0.5,,
IDLE-3,timer,washer,50.00,5,0.4,,
OLD-4,belt,washer,5.00,10,0.1,NEW-4,
NEW-4,belt,washer,6.00,10,0.1,,10
"""
STOCK = (
    "place,part_no,quantity,bought_on\nstores,PUMP-1,1,\nvan 1,PUMP-1,2,\nstores,IDLE-3,4,2020-01-01\n"
    "stores,OLD-4,1,\n"
)
DAYS = 3 * 365


def log():
    """Three years: a pump every 20 days, a pair of seals that is missing and fitted 6 days later every 60."""
    start, lines = date(2023, 1, 1), []
    for day in range(0, DAYS, 20):
        on = start + timedelta(days=day)
        lines.append(f"P{day},fault,U{day},washer,{on},{on},{on},PUMP-1,fitted,1,replace,fixed")
    for day in range(0, DAYS - 10, 60):
        on, later = start + timedelta(days=day), start + timedelta(days=day + 6)
        job = f"S{day},planned service,V{day},washer,{on}"
        lines += [
            f"{job},{on},{on},SEAL-2,needed not on van,2,inspect,return booked",
            f"{job},{later},{later},SEAL-2,fitted,2,replace,fixed",
        ]
    # A belt every ten days, in the half of the year around New Year alone.
    for day in range(0, DAYS, 10):
        on = start + timedelta(days=day)
        if on.month in (10, 11, 12, 1, 2, 3):
            lines.append(f"B{day},fault,B{day},washer,{on},{on},{on},OLD-4,fitted,1,replace,fixed")
    last = start + timedelta(days=DAYS - 1)
    lines.append(f"RARE,fault,W,washer,{last},{last},{last},RARE-9,fitted,1,replace,fixed")
    return HEADER + "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    place = tmp_path_factory.mktemp("stores")
    for name, text in (("log", log()), ("parts", PARTS), ("stock", STOCK)):
        (place / f"{name}.csv").write_text(text, encoding="utf-8")
    lists = ["--parts", str(place / "parts.csv"), "--stock", str(place / "stock.csv")]
    options = ["--store", str(place / "store"), "--key", str(place / "key")]
    assert main(["load", str(place / "log.csv"), *lists, *options]) == 0
    return place / "store"


@pytest.fixture
def rows(store, capsys):
    def answer(*options):
        capsys.readouterr()
        assert main(["stores", "--store", str(store), *options, "--format", "json"]) == 0
        return {row["part_no"]: row for row in json.loads(capsys.readouterr().out)}

    return answer


def test_level_is_the_quantile_of_what_a_lead_time_wants(rows):
    pump = rows()["PUMP-1"]
    # 55 pumps in three years, ten days of lead time: negative binomial, worked out here anew.
    jobs, years = 55, DAYS / 365.25
    mean = (jobs + 0.5) / years * 10 / 365.25
    demand = stats.nbinom(jobs + 0.5, (jobs + 0.5) / (jobs + 0.5 + mean))
    level = next(s for s in range(1, 9) if demand.cdf(s - 1) >= 0.95)
    assert (pump["base_stock"], pump["reorder_point"]) == (level, level - 1)
    assert pump["ready_rate"] == pytest.approx(demand.cdf(level - 1))
    fill = sum(demand.sf(k) for k in range(level)) / mean
    assert pump["period_fill"] == pytest.approx(fill)
    assert pump["needed_per_year"] == pytest.approx(jobs / years, rel=1e-6)
    assert pump["low"] < pump["needed_per_year"] < pump["high"]
    assert (pump["in_stores"], pump["on_vans"], pump["to_order"]) == (1, 2, level - 1)


@pytest.mark.parametrize(("part", "days", "pieces"), [("PUMP-1", 20, 1), ("SEAL-2", 60, 2)])
def test_rate_agrees_with_forecasts_from_the_series_of_use_alone(rows, part, days, pieces):
    period = 10
    series = [pieces if n * period % days == 0 else 0 for n in range(DAYS // period)]
    a_period = rows()[part]["needed_per_year"] * period / 365.25
    assert unbiased_croston(series, 0.1) == pytest.approx(a_period, rel=0.1)
    size, chance = size_and_chance(series, 0.1, 0.05)
    assert size * chance == pytest.approx(a_period, rel=0.15)


def test_part_that_was_missing_shows_how_long_machines_waited(rows):
    seal = rows()["SEAL-2"]
    # Needed by planned services too; two at a time; no lead time in the list, so the waits give one.
    assert seal["times_missing"] == seal["jobs"] == 19
    assert (seal["days_waited_median"], seal["days_waited"]) == (6, 19 * 6)
    assert (seal["lead_days"], seal["lead_from"]) == (6, "waits for this part")
    assert seal["needed_per_year"] == pytest.approx(2 * 19 / (DAYS / 365.25), rel=1e-6)
    # One piece of a pair is no use: the level is even more than a single job wants.
    assert seal["base_stock"] >= 2


def test_part_that_nobody_needed_may_go_and_a_rare_one_is_not_judged(rows):
    found = rows()
    idle = found["IDLE-3"]
    assert (idle["is_idle"], idle["let_go"], idle["let_go_value"]) == (True, 4, 200.0)
    assert idle["base_stock"] == 0
    assert idle["reorder_point"] is None
    rare = found["RARE-9"]
    assert rare["needed_per_year"] is None
    assert (rare["base_stock"], rare["is_idle"], rare["jobs"]) == (0, False, 1)
    assert found["PUMP-1"]["let_go"] == 0


def test_part_of_the_winter_is_planned_for_the_winter_to_come(rows):
    belt = rows()["NEW-4"]
    # The log ends on New Year; in the next three months nearly all days are of the half in which belts are wanted.
    assert 1.4 < belt["season"] < 2.0
    assert belt["next_90_days"] == pytest.approx(9, abs=1.5)
    assert belt["next_90_low"] <= belt["next_90_days"] <= belt["next_90_high"]
    assert rows()["PUMP-1"]["season"] is None


def test_old_pieces_count_for_the_new_number_and_orders_are_no_smaller_than_the_least(rows):
    belt = rows()["NEW-4"]
    assert (belt["replaces"], belt["older_pieces"], belt["number_change"]) == ("OLD-4", 1, "announced")
    assert (belt["in_stores"], belt["least_order"]) == (1, 10)
    assert belt["base_stock"] == belt["reorder_point"] + 10
    assert belt["to_order"] == max(10, belt["base_stock"] - 1)
    assert belt["ready_rate"] >= 0.95
    assert "OLD-4" not in rows()


def test_last_time_buy_without_a_machine_list_is_the_quantile_of_a_steady_need(store, capsys):
    command = ["stores", "--store", str(store), "--last-time-buy", "pump 1", "--years", "3"]
    assert main([*command, "--format", "json"]) == 0
    years = json.loads(capsys.readouterr().out)
    jobs, length = 55, DAYS / 365.25
    for row in years:
        mean = (jobs + 0.5) / length * row["year"]
        demand = stats.nbinom(jobs + 0.5, (jobs + 0.5) / (jobs + 0.5 + mean))
        assert row["needed_so_far"] == pytest.approx(mean, abs=0.01)
        # Three lie there already.
        assert row["buy"] == demand.ppf(0.95) - 3
    assert main([*command, "--short-cost", "90", "--format", "json"]) == 0
    weighed = json.loads(capsys.readouterr().out)[-1]
    # 90 for one too few, its price of 30 for one too many: three quarters.
    assert weighed["buy"] == demand.ppf(0.75) - 3
    assert main(command) == 0
    assert "No machine list" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "code", "says"),
    [
        (["--last-time-buy", "NONE"], 1, "knows a part NONE"),
        (["--last-time-buy", "RARE-9"], 1, "too rare to say"),
        (["--last-time-buy", "PUMP-1", "--years", "0"], 2, "--years must be between 1 and 40"),
        (["--last-time-buy", "PUMP-1", "--over-cost", "-1"], 2, "--over-cost must be above 0"),
    ],
)
def test_last_time_buy_that_cannot_be_said_is_refused(store, capsys, options, code, says):
    assert main(["stores", "--store", str(store), *options]) == code
    assert says in capsys.readouterr().err


def test_machines_that_leave_and_wear_out_shape_the_last_time_buy(sample_store, capsys):
    # Listed machines leave at a rate of their own; without new ones the need of a part must fall in the end.
    command = ["stores", "--store", str(sample_store), "--last-time-buy", "HE-7203", "--years", "20"]
    capsys.readouterr()
    assert main([*command, "--format", "json"]) == 0
    years = json.loads(capsys.readouterr().out)
    machines = [row["machines"] for row in years]
    assert machines == sorted(machines, reverse=True)
    assert years[-1]["needed"] < years[0]["needed"]
    assert all(row["low"] <= row["needed_so_far"] <= row["high"] for row in years)


def test_costly_gaps_ask_for_more_and_cheap_ones_for_less(rows):
    dear, cheap = rows("--short-cost", "500")["PUMP-1"], rows("--short-cost", "0.05")["PUMP-1"]
    assert dear["base_stock"] > cheap["base_stock"]
    # Critical ratio: 0.05 over that and a quarter of 30 a year through ten days.
    assert cheap["base_stock"] == 0


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--ready-rate", "1"], "--ready-rate must be between 0 and 1"),
        (["--short-cost", "0"], "--short-cost must be above 0"),
    ],
)
def test_what_cannot_be_meant_is_refused(store, capsys, options, says):
    assert main(["stores", "--store", str(store), *options]) == 2
    assert says in capsys.readouterr().err


def test_notes_name_the_two_rates_apart(store, capsys):
    assert main(["stores", "--store", str(store)]) == 0
    said = capsys.readouterr().out
    assert "Two different things" in said
    assert "To let go (return, sell): 4 pieces of 1 part, worth 200.00" in said
    assert "1 part was needed by fewer than 3 jobs" in said
    assert "About to be replaced: OLD-4 by NEW-4 (1 old piece to use up)" in said
    assert "Season: shown for 1 part" in said
    assert "ageing is left out" in said
