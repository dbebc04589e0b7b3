"""Hours that the local clock skipped or showed twice are flagged; the row is used."""

from datetime import date

import pytest

from pipeline.normalise.odd_hours import days_of_change
from pipeline.settings import Settings
from tests.builds import normalised
from tests.table_text import assert_table


@pytest.mark.parametrize(
    ("zone", "text", "flag", "at"),
    [
        ("Europe/London", "2026-03-29T01:30", "skipped hour", "2026-03-29 01:30"),
        ("Europe/London", "2026-03-29T02:30", "", "2026-03-29 01:30"),
        ("Europe/London", "2026-03-29T00:59", "", "2026-03-29 00:59"),
        ("Europe/London", "2026-10-25T01:30", "doubled hour", "2026-10-25 01:30"),
        ("Europe/London", "2026-10-25T02:00", "", "2026-10-25 02:00"),
        ("Europe/London", "2026-10-25T00:30", "", "2026-10-24 23:30"),
        ("Europe/London", "2026-10-25T01:30+01:00", "", "2026-10-25 00:30"),
        ("America/New_York", "2026-03-08T02:15", "skipped hour", "2026-03-08 07:15"),
        ("America/New_York", "2026-11-01T01:15", "doubled hour", "2026-11-01 06:15"),
        ("Australia/Lord_Howe", "2026-04-05T01:45", "doubled hour", "2026-04-04 15:15"),
        ("UTC", "2026-03-29T01:30", "", "2026-03-29 01:30"),
    ],
)
def test_skipped_and_doubled_hours(zone, text, flag, at):
    con = normalised(
        f"job_id | unit_type | reported_at\nJ1 | washer | {text}", settings=Settings(time_zone=zone)
    )
    column = "reported_at" if flag else ""
    expected = f"odd_hour_column | odd_hour | reported_at | problem_reason\n{column} | {flag} | {at} |"
    assert_table(con, "normalise.lines", expected)


def test_days_of_change():
    days = days_of_change("Europe/London")
    assert {date(2026, 3, 29), date(2026, 10, 25)} <= set(days)
    assert date(2026, 7, 1) not in days
    assert days_of_change("UTC") == ()
