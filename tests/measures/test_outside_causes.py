"""outside-causes on a log small enough to count by eye: found where looked for, and what was done before it was found."""

from datetime import datetime

import polars as pl
import pytest

from pipeline.errors import CannotAnswerError
from pipeline.measures import Question, evaluate
from tests.builds import built

HEADER = (
    "job_id | unit_id | unit_type | reported_at | finished_at | outcome | symptom | finding | action | part_no | part_cost | charge | "
    "payer | hands_on_min | installation_looked_at"
)
WINDOW = Question(from_at=datetime(2026, 1, 1), complete_to=datetime(2026, 12, 1))


def line(job, unit, on, **cells):
    given = {
        "job_id": job, "unit_id": unit, "unit_type": "dishwasher", "reported_at": on, "finished_at": on, "outcome": "fixed",
        "symptom": "not draining", "payer": "customer", "charge": "80", "hands_on_min": "30",
        "installation_looked_at": "yes",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


PUMP = {"part_no": "P1", "action": "replace", "part_cost": "38", "installation_looked_at": ""}
FREE = {"payer": "own guarantee", "charge": "0"}
LOOP = {"finding": "no high loop", "action": "correct installation"}


def log():
    return [
        line("A", "U1", "2026-02-01", **PUMP),
        line("B", "U1", "2026-02-20", **PUMP, **FREE),
        line("C", "U1", "2026-03-01", **LOOP),
        # Too long before, and another symptom.
        line("D", "U2", "2026-01-05", **PUMP),
        line("E", "U2", "2026-04-20", symptom="noisy", **PUMP),
        line("F", "U2", "2026-05-01", **LOOP),
        *(line(f"G{at}", f"V{at}", "2026-03-03", action="clean", part_no="P1") for at in range(18)),
        line("H", "V99", "2026-03-04", **{**LOOP, "installation_looked_at": ""}),
    ]


def test_found_where_looked_for_and_what_came_before():
    row = evaluate(built("\n".join([HEADER, *log()])), "outside-causes", WINDOW).row(0, named=True)
    assert (row["finding"], row["numerator"], row["denominator"]) == ("drain hose without rise", 2, 20)
    # Of three jobs with the cause one had two fixes before, an hour of which half was free, and two pumps.
    assert (row["jobs"], row["fixes_before"], row["parts_before"]) == (
        3,
        pytest.approx(2 / 3),
        pytest.approx(2 / 3),
    )
    assert (row["hours_before"], row["unpaid_hours_before"]) == (pytest.approx(1 / 3), pytest.approx(0.5 / 3))
    assert (row["parts_cost_before"], row["currency"]) == (pytest.approx(76 / 3), None)
    assert "found in 1 more" in row["note"]
    assert "association" in row["basis"]


def test_log_that_never_says_that_somebody_looked_is_refused():
    con = built("\n".join([HEADER, line("A", "U", "2026-02-01", **{**LOOP, "installation_looked_at": ""})]))
    with pytest.raises(CannotAnswerError, match="installation_looked_at"):
        evaluate(con, "outside-causes", WINDOW)


SITES = HEADER + " | site_id"
ADVISED = {**LOOP, "action": "advise", "outcome": "advised"}


def at_site(job, unit, on, site="", **cells):
    return f"{line(job, unit, on, **cells)} | {site}"


def followed():
    """30 put right, 3 machines called again; 30 left, 12 again; at ten addresses with another machine, that one called in two."""
    lines = [at_site(f"R{at}", f"R{at}", "2024-02-01", **LOOP) for at in range(30)]
    lines += [at_site(f"r{at}", f"R{at}", "2024-03-01", symptom="noisy") for at in range(3)]
    lines += [at_site(f"L{at}", f"L{at}", "2024-02-01", f"S{at}", **ADVISED) for at in range(30)]
    lines += [at_site(f"l{at}", f"L{at}", "2024-03-01", f"S{at}", symptom="noisy") for at in range(12)]
    # Another machine there, seen before; two of them are reported after, one more than a year later.
    lines += [at_site(f"O{at}", f"O{at}", "2024-01-10", f"S{at}", unit_type="washer") for at in range(10)]
    lines += [at_site(f"o{at}", f"O{at}", "2024-05-01", f"S{at}", unit_type="washer") for at in range(2)]
    lines += [at_site("p", "O5", "2025-06-01", "S5", unit_type="washer")]
    return lines


TWO_YEARS = Question(from_at=datetime(2024, 1, 1), complete_to=datetime(2026, 1, 1))


def test_what_follows_when_it_was_left_and_when_it_was_put_right():
    con = built("\n".join([SITES, *followed()]))
    row = (
        evaluate(con, "outside-causes", TWO_YEARS)
        .filter(pl.col("unit_type") == "dishwasher")
        .row(0, named=True)
    )
    assert (row["put_right"], row["left"], row["days"]) == (30, 30, 365)
    assert (row["again_put_right"], row["again_left"]) == (pytest.approx(0.1), pytest.approx(0.4))
    assert row["low_again_left"] < 0.4 < row["high_again_left"]
    # Ten addresses with another machine, two of which called within the year; where it was put right none is known.
    assert (row["of_others_left"], row["others_left"]) == (10, pytest.approx(0.2))
    assert (row["of_others_put_right"], row["others_put_right"]) == (None, None)


def test_jobs_avoided_per_minute_are_the_share_found_times_what_putting_right_goes_with():
    con = built("\n".join([SITES, *followed()]))
    row = (
        evaluate(con, "outside-causes", TWO_YEARS)
        .filter(pl.col("unit_type") == "dishwasher")
        .row(0, named=True)
    )
    assert (row["numerator"], row["denominator"], row["minutes_a_look"]) == (60, 75, 2)
    assert row["minutes_a_look_from"] == "assumption"
    assert row["avoided_per_minute"] == pytest.approx(60 / 75 * (0.4 - 0.1) / 2)
    assert 0 < row["low_avoided_per_minute"] < row["avoided_per_minute"] < row["high_avoided_per_minute"]
    # Ten looks of which the log has the minutes count in place of the table's.
    looks = "(select job_no, 'dishwasher', finished_on, null, 'installation', 5.0 from tables.jobs limit 10)"
    con.execute(f"insert into facts.timed_checks {looks}")
    timed = (
        evaluate(con, "outside-causes", TWO_YEARS)
        .filter(pl.col("unit_type") == "dishwasher")
        .row(0, named=True)
    )
    assert (timed["minutes_a_look"], timed["minutes_a_look_from"]) == (5, "from 10 checks in the log")
    assert timed["avoided_per_minute"] == pytest.approx(row["avoided_per_minute"] * 2 / 5)
    assert "association" in row["basis"]


def test_cause_that_was_always_put_right_says_nothing_of_leaving_it():
    lines = [at for at in followed() if not at.lower().startswith("l")]
    row = evaluate(built("\n".join([SITES, *lines])), "outside-causes", TWO_YEARS).row(0, named=True)
    assert (row["again_left"], row["avoided_per_minute"]) == (None, None)
    assert "always put right" in row["note"]


def test_few_finds_on_a_side_give_no_figure_of_looking():
    lines = [at for at in followed() if not (at.startswith("R") and int(at.split(" ")[0][1:]) >= 15)]
    row = evaluate(built("\n".join([SITES, *lines])), "outside-causes", TWO_YEARS).filter(
        pl.col("unit_type") == "dishwasher"
    )
    assert row["put_right"].to_list() == [15]
    assert row["avoided_per_minute"].to_list() == [None]
