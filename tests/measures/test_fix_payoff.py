"""fix-payoff on a log whose every number is worked out by hand, and its rules: whose money counts, and what is refused."""

import dataclasses
from datetime import date, datetime, timedelta
from functools import cache

import numpy as np
import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.bootstrap import SEED
from pipeline.measures import Question, evaluate
from pipeline.planning.payoff import Fix, per_hour, per_job
from pipeline.settings import Settings
from tests.builds import built

HEADER = (
    "job_id | unit_id | unit_type | reported_at | finished_at | outcome | symptom | part_no | part_name | action | part_cost | "
    "charge | payer | currency | hands_on_min | travel_min"
)
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2027, 1, 1))
FREE = {"payer": "own guarantee", "charge": "0"}
CLEAN = {"action": "clean", "part_cost": "", "charge": "110", "hands_on_min": "30"}


def line(job, unit, day=0, **cells):
    on = (date(2026, 1, 5) + timedelta(days=day)).isoformat()
    given = {
        "job_id": job, "unit_id": unit, "unit_type": "washer", "reported_at": on, "finished_at": on, "outcome": "fixed",
        "symptom": "not draining", "part_no": "P1", "part_name": "drain pump", "action": "replace", "part_cost": "38.00",
        "charge": "165.00", "payer": "customer", "currency": "EUR", "hands_on_min": "40", "travel_min": "25",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


@cache
def build_of(settings, *lines):
    return built("\n".join([HEADER, *lines]), settings=settings)


def answer(lines, question=WINDOW, settings=None):
    con = build_of(settings, *lines)
    rows = evaluate(con, "fix-payoff", question).to_dicts()
    return {(row["action"], row["payer"], row["currency"]): row for row in rows}


def shop():
    """20 machines cleaned; 4 are back within the guarantee, one of them twice; and 20 replaced, 4 back and none charged."""
    lines = [line(f"C{at}", f"U{at}", **CLEAN) for at in range(20)]
    lines += [line(f"R{at}", f"U{at}", 20, **FREE) for at in range(4)]
    lines += [line("RR", "U0", 40, **FREE)]
    lines += [line(f"N{at}", f"V{at}") for at in range(20)]
    lines += [line(f"M{at}", f"V{at}", 60, **FREE) for at in range(4)]
    # After the guarantee: no return of it.
    return [*lines, line("late", "V9", 91)]


HOUR = Settings(hour_costs=35.0)


def test_every_number_of_a_cleaning_by_hand():
    row = answer(shop(), settings=HOUR)["clean", "customer", "EUR"]
    # Charge 110, no part; 30 + 25 minutes; 4 of 20 back. Chains: three of one replaced pump (38 and 65 minutes), one of two.
    hours, cost, more = 55 / 60, (3 * 38 + 2 * 38) / 4, (3 * 65 + 2 * 65) / 4 / 60
    assert (row["margin"], row["hours"]) == (pytest.approx(110), pytest.approx(hours))
    assert (row["returns"], row["jobs"], row["days"]) == (4, 20, 90)
    assert row["return_probability"] == pytest.approx(0.2)
    assert (row["return_cost"], row["return_hours"]) == (pytest.approx(cost), pytest.approx(more))
    assert row["value"] == pytest.approx((110 - 0.2 * cost) / (hours + 0.2 * more))
    assert row["per_job"] == pytest.approx(110 - 35 * hours - 0.2 * (cost + 35 * more))
    assert row["numerator"] / row["denominator"] == pytest.approx(row["value"])
    assert row["unpaid_hours"] == pytest.approx(0.2 * more)


def test_replacing_bears_its_part_and_only_returns_within_the_guarantee():
    row = answer(shop(), settings=HOUR)["replace", "customer", "EUR"]
    # 20 and the late one, which cannot be a return; U0 … are back under own guarantee and no row of their own.
    assert (row["jobs"], row["returns"]) == (21, 4)
    assert row["margin"] == pytest.approx(165 - 38)


def test_range_is_that_of_machines_drawn_again():
    """A second implementation, machine by machine: drawn with the product's seed, so the range is the same."""
    row = answer(shop(), settings=HOUR)["clean", "customer", "EUR"]
    cost = np.array([76.0, 38, 38, 38] + [0] * 16)
    back, chain = (cost > 0).astype(float), cost / 38 * 65 / 60
    rng = np.random.default_rng(SEED)
    drawn = rng.integers(20, size=(1000, 20))
    q = back[drawn].mean(axis=1)
    n = np.maximum(back[drawn].sum(axis=1), 1)
    fix = Fix(110.0, 55 / 60, q, cost[drawn].sum(axis=1) / n, chain[drawn].sum(axis=1) / n)
    for figure, low, high in (
        (per_hour(fix), "low", "high"),
        (per_job(fix, 35.0), "low_per_job", "high_per_job"),
    ):
        expected = np.quantile(figure, [0.025, 0.975], method="weibull")
        assert (row[low], row[high]) == (pytest.approx(expected[0]), pytest.approx(expected[1]))


def test_without_the_cost_of_an_hour_there_is_no_net_of_a_job_and_the_note_says_what_to_write():
    row = answer(shop())["clean", "customer", "EUR"]
    assert row["per_job"] is None
    assert row["value"] is not None
    assert "hour_costs = 35.00" in row["note"]
    assert answer(shop(), Question(hour_costs=35.0, from_at=WINDOW.from_at, complete_to=WINDOW.complete_to))


def test_payers_and_currencies_stand_apart():
    lines = shop() + [line(f"W{at}", f"W{at}", payer="maker warranty", charge="90") for at in range(10)]
    lines += [line(f"L{at}", f"L{at}", currency="GBP", charge="900") for at in range(10)]
    rows = answer(lines)
    assert rows["replace", "maker warranty", "EUR"]["margin"] == pytest.approx(90 - 38)
    assert rows["replace", "customer", "GBP"]["margin"] == pytest.approx(900 - 38)
    assert rows["replace", "customer", "EUR"]["margin"] == pytest.approx(127)


def test_flat_price_stands_in_for_what_was_charged():
    question = Question(
        pricing="flat", flat_price=140.0, from_at=WINDOW.from_at, complete_to=WINDOW.complete_to
    )
    rows = answer(shop(), question)
    assert rows["clean", "customer", "EUR"]["margin"] == pytest.approx(140)
    assert rows["replace", "customer", "EUR"]["margin"] == pytest.approx(102)
    with pytest.raises(CannotAnswerError, match="flat_price = "):
        answer(shop(), Question(pricing="flat"))


def test_no_return_seen_leaves_room_for_some():
    lines = [line(f"C{at}", f"U{at}", **CLEAN) for at in range(30)] + [
        line(f"N{at}", f"V{at}") for at in range(30)
    ]
    lines += [line(f"M{at}", f"V{at}", 60, **FREE) for at in range(4)]
    row = answer(lines)["clean", "customer", "EUR"]
    # The upper range of 0 in 30 (Wilson) is 11.35 %, a return costs what it does after all fixes: 38 and 65 minutes.
    worst = (110 - 0.11351 * 38) / (55 / 60 + 0.11351 * 65 / 60)
    assert (row["low"], row["high"]) == (pytest.approx(worst, rel=1e-4), pytest.approx(110 / (55 / 60)))


def test_a_handful_gives_no_value():
    row = answer([line(f"C{at}", f"U{at}", **CLEAN) for at in range(9)])["clean", "customer", "EUR"]
    assert (row["value"], row["sample"]) == (None, "too few")


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ({"charge": ""}, "records no charges"),
        ({"hands_on_min": "", "travel_min": ""}, "records no minutes"),
        ({"outcome": "advised"}, "no job that ended fixed"),
        ({"charge": "0"}, "No fix that somebody paid for"),
    ],
)
def test_what_is_missing_is_said_in_one_sentence(cells, says):
    with pytest.raises(CannotAnswerError, match=says):
        answer([line("A", "U", **cells)])


def test_amounts_of_a_question_are_checked():
    with pytest.raises(WrongUseError, match="hour_costs must be above 0"):
        Question(hour_costs=-1.0)
    with pytest.raises(WrongUseError, match="pricing must be one of"):
        Question(pricing="cheap")


def test_labour_credited_charges_the_part_on_a_return_after_a_cleaning_and_nothing_after_a_replacement():
    question = dataclasses.replace(WINDOW, pricing="labour credited on return")
    plain, credited = answer(shop()), answer(shop(), question)
    # A new one is charged at 165, a cleaning at 110: 55 for the part.
    cleaned = "clean", "customer", "EUR"
    assert credited[cleaned]["return_cost"] == pytest.approx(plain[cleaned]["return_cost"] - 55)
    swapped = "replace", "customer", "EUR"
    assert credited[swapped]["return_cost"] == plain[swapped]["return_cost"]
    assert "the part is charged and the labour credited" in credited[cleaned]["basis"]


def test_higher_bills_raise_the_margin_of_what_customers_pay_alone():
    lines = [*shop(), *(line(f"W{at}", f"W{at}", payer="insurer") for at in range(20))]
    plain, dearer = answer(lines), answer(lines, dataclasses.replace(WINDOW, price_change=10.0))
    cleaned = "clean", "customer", "EUR"
    assert dearer[cleaned]["margin"] == pytest.approx(plain[cleaned]["margin"] + 11)
    insured = "replace", "insurer", "EUR"
    assert dearer[insured]["margin"] == plain[insured]["margin"]
    assert "customers' bills 10 % higher than recorded" in dearer[cleaned]["basis"]


def test_longer_guarantee_counts_the_return_that_came_later():
    longer = answer(shop(), dataclasses.replace(WINDOW, guarantee_days=120))["replace", "customer", "EUR"]
    assert (longer["returns"], longer["days"]) == (5, 120)
    assert answer(shop())["replace", "customer", "EUR"]["returns"] == 4
    with pytest.raises(WrongUseError, match="guarantee_days must be between 1 and 3650"):
        Question(guarantee_days=0)
    with pytest.raises(WrongUseError, match="price_change must be above -100"):
        Question(price_change=-100.0)
