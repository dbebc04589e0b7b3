"""clean-or-replace: the worked example through a whole log, like against like, and what money does not decide."""

from datetime import date, datetime, timedelta
from functools import cache

import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures import Question, evaluate
from pipeline.measures.balance import balance_rows
from pipeline.measures.comparable_jobs import comparable_jobs
from pipeline.measures.terms import terms_of
from pipeline.measures.window import resolve
from tests.builds import built

HEADER = (
    "job_id | unit_id | unit_type | age_years | reported_at | finished_at | outcome | symptom | mechanism | part_no | part_name | "
    "action | part_cost | charge | payer | hands_on_min | travel_min"
)
FREE = {"payer": "own guarantee", "charge": "0"}
CLEAN = {"action": "clean", "part_cost": "", "charge": "110", "hands_on_min": "30"}


def line(job, unit, day=0, **cells):
    on = (date(2026, 1, 5) + timedelta(days=day)).isoformat()
    given = {
        "job_id": job, "unit_id": unit, "unit_type": "washer", "age_years": "4", "reported_at": on, "finished_at": on,
        "outcome": "fixed", "symptom": "not draining", "mechanism": "blocked", "part_no": "P1", "part_name": "drain pump",
        "action": "replace", "part_cost": "38.00", "charge": "165.00", "payer": "customer", "hands_on_min": "40",
        "travel_min": "25",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


def jobs(name, n, back, returning=FREE, **cells):
    """So many machines of a name, so many of them back after 20 days with a pump replaced."""
    fixed = [line(f"{name}{at}", f"{name}{at}", **cells) for at in range(n)]
    age = {"age_years": cells.get("age_years", "4")}
    return fixed + [line(f"{name}{at}r", f"{name}{at}", 20, **age, **returning) for at in range(back)]


def asking(**choices):
    window = {"from_at": datetime(2026, 1, 1), "complete_to": datetime(2027, 1, 1)}
    return Question(**window, **{"hour_costs": 35.0, "customer_day": 40.0, **choices})


@cache
def build_of(*lines):
    return built("\n".join([HEADER, *lines]))


def answer(lines, **choices):
    con = build_of(*lines)
    rows = evaluate(con, "clean-or-replace", asking(**choices)).to_dicts()
    return {(row["cleaning"], row["whose"]): row for row in rows}


def worked(returning=FREE):
    """60 cleaned, 18 of them back; 60 replaced, 3 of them back: 30 % and 5 %."""
    return [*jobs("C", 60, 18, returning, **CLEAN), *jobs("R", 60, 3, returning)]


def evens(rows):
    return {whose: row["break_even"] for (_, whose), row in rows.items()}


def test_worked_example_itemised():
    rows = answer(worked())
    found = evens(rows)
    assert found["firm"] < 0
    assert found["firm, diary full"] == pytest.approx(0.05846, abs=5e-6)
    assert found["hours"] == pytest.approx(13.25 / 65)
    # 55 more for replacing, and 5 % of a day of 40, in returns of a day.
    assert found["customer"] == pytest.approx((55 + 2) / 40)
    assert {whose: row["verdict"] for (_, whose), row in rows.items()} == {
        "firm": "replace",
        "firm, diary full": "replace",
        "customer": "clean",
        "hours": "cannot tell",
    }


def test_worked_example_with_one_flat_price():
    found = evens(answer(worked(), pricing="flat", flat_price=140.0))
    assert found["firm"] == pytest.approx(0.627, abs=5e-4)
    assert found["firm, diary full"] == pytest.approx(0.4450, abs=5e-5)


def test_worked_example_with_labour_credited_on_return():
    found = evens(answer(worked(), pricing="labour credited on return"))
    assert found["firm, diary full"] == pytest.approx(0.090, abs=5e-4)
    # The customer bears the 55 that the new part costs more, and a day.
    assert found["customer"] == pytest.approx((55 + 2) / 95)


def test_customer_who_pays_again_turns_sooner_and_the_firm_earns_nothing_by_it():
    charged = {"payer": "customer", "charge": "165"}
    # A paid return of a replaced pump is a replacement of its own, and holds: 3 of 63 are back.
    rows = answer(worked(charged))
    assert rows["first", "customer"]["break_even"] == pytest.approx((55 + 3 / 63 * 205) / 205)
    assert rows["first", "firm"]["return_cost"] == 0
    assert rows["first", "firm"]["break_even"] is None


def test_difference_and_its_parts_by_hand():
    row = answer(worked())["first", "firm"]
    cleaning = 110 - 35 * 55 / 60 - 0.30 * (38 + 35 * 65 / 60)
    replacing = 127 - 35 * 65 / 60 - 0.05 * (38 + 35 * 65 / 60)
    assert row["value"] == pytest.approx(cleaning - replacing)
    assert (row["return_cleaned"], row["return_replaced"]) == (pytest.approx(0.3), pytest.approx(0.05))
    assert (row["jobs_cleaned"], row["jobs_replaced"], row["effective_cleaned"]) == (
        60,
        60,
        pytest.approx(60),
    )


def younger_are_cleaned():
    """At each age both hold alike: 10 % back young, 50 % back old. Cleaning is chosen for young machines."""
    young, old = {"age_years": "1"}, {"age_years": "12"}
    return [
        *jobs("CY", 80, 8, **CLEAN, **young),
        *jobs("CO", 20, 10, **CLEAN, **old),
        *jobs("RY", 20, 2, **young),
        *jobs("RO", 80, 40, **old),
    ]


def test_where_younger_machines_are_cleaned_the_naive_figure_is_wrong_and_this_one_right():
    naive_cleaned, naive_replaced = 18 / 100, 42 / 100
    row = answer(younger_are_cleaned())["first", "hours"]
    assert naive_cleaned < naive_replaced - 0.2
    assert row["return_cleaned"] == pytest.approx(0.3)
    assert row["return_replaced"] == pytest.approx(0.3)
    assert row["imbalance_before"] > 1
    assert row["imbalance_after"] == pytest.approx(0, abs=1e-9)


def test_balance_table_shows_each_level_before_and_after():
    con = build_of(*younger_are_cleaned())
    question = asking()
    found = comparable_jobs(con, resolve(con, question, needs_closed_jobs=True), terms_of(con, question))
    side = found["side"].to_numpy()
    rows = {
        row["level"]: row for row in balance_rows(side, found, side * 0.0 + 1.0) if row["what"] == "age_band"
    }
    assert (rows["0 to 2 years"]["cleaned"], rows["0 to 2 years"]["replaced"]) == (0.8, 0.2)
    assert rows["10 to 15 years"]["difference"] == pytest.approx(-0.6 / 0.4)


def test_one_chosen_where_the_other_never_was_is_refused():
    rows = answer([*jobs("C", 60, 18, **CLEAN), *jobs("R", 60, 3, mechanism="electrical")])
    assert list(rows) == [("first", "all")]
    row = rows["first", "all"]
    assert (row["verdict"], row["value"], row["sample"]) == ("not comparable", None, "too few")
    assert "0 jobs on the smaller side, and 20 are needed" in row["note"]


def test_nineteen_on_one_side_are_too_few():
    assert list(answer([*jobs("C", 60, 18, **CLEAN), *jobs("R", 19, 1)])) == [("first", "all")]


def test_second_cleaning_stands_apart_from_the_first():
    again = [line(f"C{at}s", f"C{at}", 120, **CLEAN) for at in range(30)]
    replaced = [line(f"C{at}s", f"C{at}", 120) for at in range(30, 60)]
    rows = answer([*jobs("C", 60, 0, **CLEAN), *jobs("R", 60, 3), *again, *replaced])
    assert {cleaning for cleaning, _ in rows} == {"first", "again"}
    assert rows["again", "firm"]["jobs_cleaned"] == 30
    assert rows["first", "firm"]["jobs_cleaned"] == 60


def test_ways_of_failing_can_stand_apart():
    lines = [*worked(), *jobs("S", 30, 9, mechanism="stuck", **CLEAN), *jobs("T", 30, 1, mechanism="stuck")]
    con = built("\n".join([HEADER, *lines]))
    rows = evaluate(con, "clean-or-replace", asking(by=("mechanism",))).to_dicts()
    assert {(row["mechanism"], row["jobs_cleaned"]) for row in rows} == {("blocked", 60), ("stuck", 30)}


@pytest.mark.parametrize(
    "name", ["door interlock", "main door lock", "Thermal fuse", "gas valve", "mains lead"]
)
def test_money_never_decides_on_a_part_that_keeps_people_safe(name):
    named = {"part_name": name}
    rows = answer([*jobs("C", 60, 0, **CLEAN, **named), *jobs("R", 60, 30, **named)])
    assert list(rows) == [("first", "safety")]
    row = rows["first", "safety"]
    assert (row["verdict"], row["value"], row["margin_cleaned"]) == ("replace", None, None)


def test_parts_list_can_say_that_a_part_keeps_people_safe():
    parts = "part_no | part_name | safety_part\nP1 | drain pump | yes"
    con = built("\n".join([HEADER, *worked()]), parts=parts)
    rows = evaluate(con, "clean-or-replace", asking()).to_dicts()
    assert [(row["whose"], row["verdict"]) for row in rows] == [("safety", "replace")]


def test_job_on_several_parts_is_left_out():
    other = line("C0", "C0", part_no="P2", part_name="filter", **CLEAN)
    assert answer([*worked(), other])["first", "firm"]["jobs_cleaned"] == 59


def test_firm_that_would_earn_on_the_comeback_gets_no_advice_from_it():
    dear = [*jobs("C", 60, 18, **CLEAN), *jobs("R", 60, 3, charge="265")]
    row = answer(dear, pricing="labour credited on return")["first", "firm"]
    assert row["verdict"] == "cannot tell"
    assert "no verdict rests on that" in row["note"]


def test_customers_side_is_left_out_until_the_cost_of_a_day_is_known():
    con = build_of(*worked())
    window = {"from_at": datetime(2026, 1, 1), "complete_to": datetime(2027, 1, 1)}
    rows = evaluate(con, "clean-or-replace", Question(**window, hour_costs=35.0)).to_dicts()
    assert "customer" not in {row["whose"] for row in rows}
    assert "write customer_day = 40.00" in rows[0]["note"]
    with pytest.raises(CannotAnswerError, match=r"write hour_costs = 35.00"):
        evaluate(con, "clean-or-replace", Question(**window))


def test_log_without_a_cleaning_is_refused():
    with pytest.raises(CannotAnswerError, match="No part was cleaned or freed by itself"):
        answer(jobs("R", 30, 1))
    with pytest.raises(WrongUseError, match="it can be part_no"):
        answer(worked(), by=("technician",))
