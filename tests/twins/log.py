"""Slow and plain: a standard log as a list of rows → visits and jobs, from the measure book alone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from fractions import Fraction

Row = Mapping[str, str]
WORKS = ("replace", "repair", "free", "clean", "adjust", "reset")  # strongest first
FITTED = ("", "fitted")
FAULT_KINDS = ("", "fault", "workshop")
NOT_ATTENDED = ("cancelled", "no access")
STILL_OPEN = ("", "open", "temporary", "return booked", "awaiting customer", "not finished")
REPEAT_DAYS = 30


@dataclass
class Visit:
    """One visit of a job: its lines, in file order."""

    order: tuple[int, str]
    rows: list[Row] = field(default_factory=list)

    def get(self, name: str) -> str:
        """The visit's value: the first one written on its lines."""
        return first(row.get(name, "") for row in self.rows)

    @property
    def attended(self) -> bool:
        """Whether somebody stood before the machine."""
        outcome = self.get("outcome")
        return outcome not in NOT_ATTENDED and (outcome not in ("", "open") or bool(self.get("finished_at")))


@dataclass
class Job:
    """One reported problem on one machine."""

    key: str
    number: int
    visits: list[Visit]
    machine: object = None
    rung: str = "none"

    @property
    def rows(self) -> list[Row]:
        """All its lines, visit by visit."""
        return [row for visit in self.visits for row in visit.rows]

    def get(self, name: str) -> str:
        """A field of the job or its machine: the first one written."""
        return first(row.get(name, "") for row in self.rows)

    @property
    def is_fault(self) -> bool:
        """Whether it counts as a failure, an index job and a return."""
        return self.get("job_kind") in FAULT_KINDS

    @property
    def reported_at(self) -> datetime | None:
        """Moment of the report."""
        return moment(self.get("reported_at"))

    @property
    def reported_on(self) -> date | None:
        """Day of the report."""
        return self.reported_at.date() if self.reported_at else None

    @property
    def last_attended(self) -> Visit | None:
        """The visit that decides how the job ended."""
        attended = [visit for visit in self.visits if visit.attended]
        return attended[-1] if attended else None

    @property
    def outcome(self) -> str:
        """How it ended: the last attended visit's outcome, else the last visit's."""
        return (self.last_attended or self.visits[-1]).get("outcome")

    @property
    def finished_at(self) -> datetime | None:
        """When it ended; None while it is open."""
        visit = self.last_attended
        if visit is None or visit.get("outcome") in STILL_OPEN:
            return None
        return moment(visit.get("finished_at"))

    @property
    def finished_on(self) -> date | None:
        """Day on which it ended."""
        return self.finished_at.date() if self.finished_at else None

    @property
    def is_index(self) -> bool:
        """Whether it is a fix that can hold or not."""
        return self.is_fault and self.outcome == "fixed" and self.finished_at is not None

    @property
    def works(self) -> dict[str, str]:
        """Each part worked on and the strongest thing done to it."""
        done: dict[str, str] = {}
        for row in self.rows:
            part, action = part_of(row), row.get("action", "")
            if part and action in WORKS and row.get("part_status", "") in FITTED:
                done[part] = min(done.get(part, action), action, key=WORKS.index)
        return done

    @property
    def symptoms(self) -> set[str]:
        """Every symptom its lines name."""
        return {row["symptom"] for row in self.rows if row.get("symptom")}

    @property
    def minutes(self) -> Fraction | None:
        """Hands-on minutes of its visits; None where none was written down."""
        written = [visit.get("hands_on_min") for visit in self.visits if visit.get("hands_on_min")]
        return sum((Fraction(text) for text in written), Fraction(0)) if written else None


def first(values: object) -> str:
    """The first value that is not empty."""
    return next((value for value in values if value), "")  # type: ignore[attr-defined]


def moment(text: str) -> datetime | None:
    """An ISO date or date-time; a date is its first moment."""
    return datetime.fromisoformat(text) if text else None


def day(text: str) -> date | None:
    """An ISO date."""
    return date.fromisoformat(text) if text else None


def part_of(row: Row) -> str:
    """What makes two lines speak of the same part: its number without spacing, else its name."""
    number = "".join(mark for mark in row.get("part_no", "").upper() if mark not in " -./")
    return number or row.get("part_name", "").casefold()


def used_rows(rows: Sequence[Row]) -> list[Row]:
    """Rows that can be used: a job number, a machine type, a date; an identical row counts once."""
    seen: set[tuple[tuple[str, str], ...]] = set()
    kept = []
    for row in rows:
        content = tuple(sorted((name, value) for name, value in row.items() if value))
        dated = any(row.get(name) for name in ("reported_at", "booked_for", "started_at", "finished_at"))
        if content not in seen and row.get("job_id") and row.get("unit_type") and dated:
            kept.append(row)
        seen.add(content)
    return kept


def jobs_of(rows: Sequence[Row]) -> list[Job]:
    """Jobs of a log, each with its visits in order."""
    grouped: dict[str, list[Row]] = defaultdict(list)
    for row in used_rows(rows):
        grouped[row["job_id"]].append(row)
    return [Job(key, number, visits_of(grouped[key])) for number, key in enumerate(sorted(grouped), start=1)]


def visits_of(rows: Sequence[Row]) -> list[Visit]:
    """Visits of one job: told apart by number, where there is none by start."""
    visits: dict[tuple[int, str], Visit] = {}
    for row in rows:
        number = row.get("visit_no", "")
        order = (int(number), "") if number else (0, row.get("started_at", ""))
        visits.setdefault(order, Visit(order)).rows.append(row)
    return [visits[order] for order in sorted(visits)]


@dataclass(frozen=True)
class Windows:
    """Default ends of a log."""

    first_on: date
    last_report_on: date
    reports_complete_to: date
    closed_complete_to: date
    lag_days: int


def windows_of(jobs: Sequence[Job]) -> Windows:
    """First day, end of the last day with a report, and the last day by which 95 % of jobs are closed."""
    reports = sorted({job.reported_on for job in jobs if job.reported_on})
    starts = [d for job in jobs for d in days_of(job)]
    last = reports[-1]
    if len(reports) > 1 and (last - reports[-2]).days > 90:
        last = reports[-2]
    lags = sorted(
        (job.finished_on - job.reported_on).days for job in jobs if job.finished_on and job.reported_on
    )
    lag = next(
        (
            days
            for days in sorted(set(lags))
            if Fraction(sum(x <= days for x in lags), len(lags)) >= Fraction(95, 100)
        ),
        0,
    )
    end = last + timedelta(days=1)
    return Windows(min(starts), last, end, end - timedelta(days=lag), lag)


def days_of(job: Job) -> list[date]:
    """Every day on which the log shows something of a job."""
    names = ("reported_at", "started_at", "finished_at")
    return [m.date() for row in job.rows for name in names if (m := moment(row.get(name, "")))]
