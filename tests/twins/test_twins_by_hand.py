"""The twins themselves, on logs small enough to work out on paper."""

from __future__ import annotations

from datetime import date

import pytest

from tests.twins import part_rate, repeats, times
from tests.twins.estimates import Followed, aalen_johansen, garwood, wilson
from tests.twins.log import Row, jobs_of, windows_of
from tests.twins.machines import identify


def row(job: str, reported: str, finished: str, outcome: str = "fixed", **more: str) -> Row:
    """One visit with one line on machine u1, a washer."""
    fixed = {
        "job_id": job,
        "unit_id": "u1",
        "unit_type": "washer",
        "reported_at": reported,
        "finished_at": finished,
    }
    return {**fixed, "outcome": outcome, **more}


PUMP = {"part_no": "100-20", "action": "clean"}


def test_published_intervals() -> None:
    # Newcombe (1998) Stat Med 17:857, Table I, 81/263; Garwood (1936) Biometrika 28:437, count 10. From memory.
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert garwood(10, 1) == pytest.approx((4.80, 18.39), abs=5e-3)


def test_probability_with_a_competing_end_by_hand() -> None:
    # Four records: event on day 1, competing end on day 2, still running on day 3, event on day 4.
    records = [Followed(1, 1, "a"), Followed(2, 2, "b"), Followed(3, 0, "c"), Followed(4, 1, "d")]
    assert [float(aalen_johansen(records, day).probability) for day in (0, 1, 3, 4)] == [0, 0.25, 0.25, 0.75]


def test_every_record_its_own_unit_gives_greenwood() -> None:
    records = [
        Followed(day, ended, at) for at, (day, ended) in enumerate([(1, 1), (2, 0), (3, 1), (5, 0), (6, 0)])
    ]
    curve = aalen_johansen(records, 5)
    s = 1 - curve.probability
    greenwood = float(s) ** 2 * (1 / (5 * 4) + 1 / (3 * 2))
    assert float(curve.variance) == pytest.approx(greenwood)


def test_job_reported_thirty_days_after_the_finish_is_a_repeat_and_later_it_is_a_failure() -> None:
    first = row("a", "2024-01-01", "2024-01-02", **PUMP)
    for reported, failures in (("2024-02-01", 1), ("2024-02-02", 2)):
        jobs = jobs_of([first, row("b", reported, reported, **PUMP)])
        machines = identify(jobs, [{"unit_id": "u1", "unit_type": "washer", "installed_on": "2020-01-01"}])
        got = part_rate.part_rates(
            list(machines.values()), jobs, [], part_rate.LIST, (date(2024, 1, 1), date(2025, 1, 1))
        )
        assert got[("10020",)]["numerator"] == failures


def test_days_from_report_to_thirty_days_after_the_finish_are_not_at_risk() -> None:
    jobs = jobs_of([row("a", "2024-01-11", "2024-01-13", **PUMP)])
    machines = identify(jobs, [{"unit_id": "u1", "unit_type": "washer", "installed_on": "2020-01-01"}])
    got = part_rate.part_rates(
        list(machines.values()), jobs, [], part_rate.LIST, (date(2024, 1, 1), date(2024, 3, 1))
    )
    # 60 days, without 11 January to 11 February: 32 days.
    assert got[("10020",)]["denominator"] == pytest.approx(28 / 365.25)


def test_first_job_of_a_machine_seen_is_no_event_and_starts_the_clock_when_it_ends() -> None:
    rows = [
        row("a", "2024-01-01", "2024-01-11", part_no="9", action="replace"),
        row("b", "2024-03-01", "2024-03-01", **PUMP),
    ]
    jobs = jobs_of(rows)
    machines = identify(jobs, [])
    got = part_rate.part_rates(
        list(machines.values()), jobs, [], part_rate.SEEN, (date(2024, 1, 1), date(2024, 4, 10))
    )
    assert (got[("9",)]["numerator"], got[("10020",)]["numerator"]) == (0, 1)
    # From 11 January 90 days; the pump's own 30 days from 1 March, and for part 9 the 30 after 11 January, are out.
    assert got[("10020",)]["denominator"] == pytest.approx(60 / 365.25)
    assert got[("9",)]["denominator"] == pytest.approx(60 / 365.25)


def test_return_is_charged_to_the_most_recent_fix_and_a_report_before_the_finish_is_none() -> None:
    rows = [
        row("a", "2024-01-01", "2024-01-10", symptom="noisy"),
        row("b", "2024-01-05", "2024-01-20", symptom="not heating"),
        row("c", "2024-01-25", "2024-01-26", symptom="noisy"),
    ]
    jobs = jobs_of(rows)
    machine = identify(jobs, [])["unit", "u1"]
    back = [repeats.first_return(job, machine) for job in machine.jobs]
    assert back[0] is None
    assert (back[1].job.key, back[1].days, back[1].is_same) == ("c", 5, False)
    assert back[2] is None


def test_day_d_itself_counts_and_must_have_been_followed() -> None:
    rows = [row("a", "2024-01-01", "2024-01-01"), row("b", "2024-01-31", "2024-02-05")]
    jobs = jobs_of(rows)
    for end, mature in ((date(2024, 1, 31), 0), (date(2024, 2, 1), 1)):
        got = repeats.repeat_visits(jobs, identify(jobs, []), date(2024, 1, 1), end)[()]
        assert (got["numerator"], got["mature_numerator"], got["mature_denominator"]) == (
            mature,
            mature,
            mature,
        )


def test_window_ends_by_the_lag_of_ninety_five_per_cent() -> None:
    rows = [row(f"j{n}", f"2024-01-{n:02d}", f"2024-01-{n + (n > 18):02d}") for n in range(1, 21)]
    windows = windows_of(jobs_of([*rows, row("late", "2024-06-01", "")]))
    assert (windows.last_report_on, windows.lag_days) == (date(2024, 1, 20), 1)
    assert windows.closed_complete_to == date(2024, 1, 20)


def test_serialless_line_joins_the_one_machine_of_its_type_in_a_household() -> None:
    site = {"unit_id": "", "site_id": "s", "site_kind": "household", "make": "Make One"}
    rows = [
        row("a", "2024-01-01", "2024-01-01", serial="7", **site),
        row("b", "2024-02-01", "2024-02-01", **site),
    ]
    jobs = jobs_of(rows)
    identify(jobs, [])
    assert jobs[0].machine == jobs[1].machine
    jobs = jobs_of([*rows, row("c", "2024-03-01", "2024-03-01", serial="8", **site)])
    identify(jobs, [])
    assert (jobs[1].machine, jobs[1].rung) == (None, "assumed, several")


def test_open_jobs_run_on_and_declined_ones_compete_in_the_days_without_the_machine() -> None:
    rows = [
        row("a", "2024-01-01", "2024-01-03"),
        row("b", "2024-01-01", "2024-01-02", "quote declined"),
        row("c", "2024-01-01", "", "open"),
        row("d", "2024-01-01", "2024-01-01", "no fault found"),
    ]
    got = times.restored_records(jobs_of(rows), date(2024, 1, 1), date(2024, 1, 11))
    assert [(r.days, r.ended) for r in got] == [(2, 1), (1, 2), (9, 0)]
