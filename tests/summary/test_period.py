"""Which month is over, and what came since the last load."""

from datetime import date

import pytest

from pipeline.errors import CannotAnswerError
from pipeline.summary.counts import trips_in_vain
from pipeline.summary.period import last_month, months_before, since_last_load
from tests.builds import LogFile, built

HEADER = "job_id | unit_id | unit_type | reported_at | finished_at | outcome"


def log(*days, first=1):
    rows = [f"J{first + at} | U{first + at} | washer | {day} | {day} | fixed" for at, day in enumerate(days)]
    return "\n".join([HEADER, *rows])


@pytest.mark.parametrize(
    ("days", "first_on", "to_on", "name"),
    [
        (("2026-01-03", "2026-02-28"), date(2026, 2, 1), date(2026, 3, 1), "February 2026"),
        # A Friday before a week-end that ends the month.
        (("2026-01-03", "2026-02-26"), date(2026, 2, 1), date(2026, 3, 1), "February 2026"),
        (("2026-01-03", "2026-02-20"), date(2026, 1, 1), date(2026, 2, 1), "January 2026"),
        (("2025-11-20", "2026-01-01"), date(2025, 12, 1), date(2026, 1, 1), "December 2025"),
        (("2026-02-03", "2026-02-20"), date(2026, 2, 3), date(2026, 2, 21), "3 Feb 2026 to 20 Feb 2026"),
    ],
)
def test_last_month_that_is_over(days, first_on, to_on, name):
    found = last_month(built(log(*days)))
    assert (found.first_on, found.to_on, found.name) == (first_on, to_on, name)


def test_log_without_a_day_is_refused():
    with pytest.raises(CannotAnswerError, match="nothing to sum up"):
        last_month(built(HEADER))


def test_whole_months_before_the_latest_first():
    period = last_month(built(log("2025-11-20", "2026-01-05", "2026-02-27")))
    assert months_before(period, date(2025, 11, 20)) == [
        (date(2026, 1, 1), date(2026, 2, 1)),
        (date(2025, 12, 1), date(2026, 1, 1)),
    ]


def test_since_the_last_load_begins_after_the_last_report_before_it():
    con = built(LogFile(log("2026-01-03", "2026-01-31")), LogFile(log("2026-02-03", first=10), load_no=2))
    found = since_last_load(con)
    assert (found.first_on, found.last_on) == (date(2026, 2, 1), date(2026, 2, 3))
    assert (
        con.execute("select job_no, first_load_no from facts.first_loads order by 2").fetchall()[-1][1] == 2
    )


def test_whole_export_loaded_again_brings_only_its_new_jobs():
    old = log("2026-01-03", "2026-01-31")
    con = built(
        LogFile(old), LogFile(f"{old}\nJ9 | U9 | washer | 2026-02-03 | 2026-02-03 | fixed", load_no=2)
    )
    loads = con.execute(
        "select first_load_no, count(*) from facts.first_loads group by 1 order by 1"
    ).fetchall()
    assert loads == [(1, 2), (2, 1)]
    assert since_last_load(con).first_on == date(2026, 2, 1)


def test_nothing_newer_or_nothing_before_is_no_period():
    assert since_last_load(built(log("2026-01-03", "2026-01-31"))) is None
    older = LogFile(log("2025-12-03", first=10), load_no=2)
    assert since_last_load(built(LogFile(log("2026-01-03", "2026-01-31")), older)) is None


def test_trips_in_vain_are_those_for_which_somebody_set_out():
    con = built(
        """
        job_id | unit_type | reported_at | started_at       | finished_at      | travel_min | outcome
        A      | washer    | 2026-02-02  | 2026-02-03 10:00 | 2026-02-03 10:10 |            | no access
        B      | washer    | 2026-02-02  |                  |                  | 20         | cancelled
        C      | washer    | 2026-02-02  |                  |                  |            | cancelled
        D      | washer    | 2026-02-02  | 2026-02-04 10:00 | 2026-02-04 11:00 | 20         | fixed
        E      | washer    | 2026-02-27  | 2026-02-27 10:00 | 2026-02-27 11:00 | 20         | fixed
        """
    )
    assert con.execute("select count(*), sum(minutes) from facts.trips_in_vain").fetchall() == [(2, 20)]
    found = trips_in_vain(con, last_month(con))
    # B has no day of its own, so nobody knows in which month it was.
    assert (found.events, found.of, found.usual) == (1, 3, None)
