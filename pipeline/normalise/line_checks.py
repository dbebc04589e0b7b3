"""What sets a row of the log aside, in the order in which it is looked for."""

from __future__ import annotations

from pipeline.normalise.forms import TYPED
from pipeline.normalise.problems import Check, unreadable
from pipeline.standard_log import LOG, columns_of_kind

# Dates on which something had happened; a visit may be booked for later.
PAST = (("reported_at", "reported_on"), ("started_at", "started_on"), ("finished_at", "finished_on"))


def line_checks(*, has_job_id: bool, completes_by: str = "") -> list[Check]:
    """
    Checks on the columns of the step `read`: c_ the cell, w_ the value as written, else the value of a line.

    Parameters
    ----------
    has_job_id : bool
        Whether the file has job numbers at all; where it has none they are made.
    completes_by : str
        What the rows are matched by where they complete the visits of another file: job_id, or the moment that goes
        with the site. They need no kind of machine and no date of their own. Empty where they are visits.
    """
    typed_columns = [column for column in LOG if column.kind in TYPED]
    dates = " and ".join(f'"c_{column}" is null' for column in columns_of_kind("log", "moment"))
    return [
        Check("", "", "row_problem is not null", reason_sql="row_problem"),
        *_who(dates, has_job_id=has_job_id, completes_by=completes_by),
        *(unreadable(column, f'"c_{column.name}"', f'"w_{column.name}"') for column in typed_columns),
        *([] if completes_by else [Check("unit_type", "no kind of machine", "unit_type is null")]),
        *([] if completes_by else [Check("reported_at", "no date", dates)]),
        *(
            Check(name, "negative minutes", f'"{name}" < 0', cell=f'"c_{name}"')
            for name in columns_of_kind("log", "minutes")
        ),
        Check("charge", "amounts in several currencies", "has_several_currencies"),
        _finished_first(),
        *(
            Check(column, "dated after the file was received", f"{day} > received_on", cell=f'"c_{column}"')
            for column, day in PAST
        ),
    ]


def _who(dates: str, *, has_job_id: bool, completes_by: str) -> list[Check]:
    """What says which job or visit a row belongs to."""
    if completes_by == "job_id":
        # Without a number the address and the day may still say it.
        return [Check("job_id", "no job number", f"job_id is null and (site_id is null or {dates})")]
    if completes_by:
        return [
            Check("site_id", "no address", "site_id is null"),
            Check(completes_by, "no date", f'"c_{completes_by}" is null'),
        ]
    return [Check("job_id", "no job number", "job_id is null")] if has_job_id else []


def _finished_first() -> Check:
    """Where one of the two has no time of day only the days can be compared."""
    timed = " and ".join(
        f"cast(w_{column} as time) > time '00:00'" for column in ("reported_at", "finished_at")
    )
    failed = f"(finished_on < reported_on or (finished_at < reported_at and {timed}))"
    reported = ("reported_at", '"c_reported_at"')
    return Check("finished_at", "finished before reported", failed, cell='"c_finished_at"', also=(reported,))
