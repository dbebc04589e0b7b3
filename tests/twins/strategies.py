"""Small standard logs for Hypothesis: many little machines, few parts, awkward dates, missing fields.

One log holds many machines that have nothing to do with each other, because a load costs far more than a draw.
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

from hypothesis import strategies as st

FIRST_DAY = date(2023, 1, 2)
TYPES = ("dishwasher", "washer", "ice maker")
MAKES = ("Make One", "Make Two")
MODELS = ("M10", "M20", "")
SYMPTOMS = ("not draining", "noisy", "not heating", "")
PARTS = ("100-20", "10020", "200.30", "300 40")  # the first two are one part, written in two ways
NAMED_PART = "quern stone"
ACTIONS = ("clean", "free", "adjust", "repair", "reset", "replace", "test", "inspect")
STATUSES = ("", "", "", "fitted", "taken out again", "needed not on van", "ordered")
BETWEEN = ("return booked", "awaiting customer", "no access", "not finished", "temporary", "cancelled")
LAST = (
    *("fixed",) * 6,
    *("no fault found", "advised", "quote declined", "beyond economic repair", "no access", "cancelled"),
    *("referred", "made safe", "return booked", "open", ""),
)
KINDS = ("", "", "", "", "fault", "workshop", "planned service", "installation")
GAPS = (0, 0, 1, 2, 29, 30, 31, 32, 59, 60, 61, 90, 150)
LENGTHS = (0, 0, 0, 1, 3, 29, 30, 31, 45)
IDENTITIES = ("unit", "unit", "unit", "unit and serial", "serial", "household", "household", "café", "none")
REASONS = ("", "", "", "part not on van", "not diagnosed", "time")

LOG_HEADER = (
    *(
        "job_id",
        "job_kind",
        "visit_no",
        "return_of",
        "return_reason",
        "unit_id",
        "unit_type",
        "make",
        "model",
        "serial",
    ),
    *("site_id", "site_kind", "reported_at", "started_at", "finished_at", "hands_on_min", "symptom"),
    *("part_no", "part_name", "part_status", "action", "outcome", "second_visit_reason"),
)
MACHINE_HEADER = ("unit_id", "unit_type", "make", "model", "serial", "installed_on", "removed_on", "site_id")
PARTS_HEADER = ("part_no", "part_name", "fits")
# What a later line of a job may leave empty: what the job's first line has said already.
MAY_BE_EMPTY = (
    "job_kind",
    "unit_id",
    "make",
    "model",
    "serial",
    "site_id",
    "site_kind",
    "reported_at",
    "return_of",
)


@dataclass(frozen=True)
class Work:
    """One line of work."""

    symptom: str
    part: str
    status: str
    action: str
    leaves_empty: str


@dataclass(frozen=True)
class Call:
    """One visit: days and hours after the report, what was done, how it ended."""

    days: int
    hour: int
    minutes: str
    outcome: str
    reason: str
    works: tuple[Work, ...]


@dataclass(frozen=True)
class Report:
    """One job: days since the report before it, its visits."""

    gap: int
    hour: int
    kind: str
    return_reason: str
    names_the_last: bool
    hides: str
    calls: tuple[Call, ...]


@dataclass(frozen=True)
class Sketch:
    """One machine and its jobs."""

    unit_type: str
    make: str
    model: str
    identity: str
    site: int
    starts: int
    is_listed: bool
    installed: int
    removed: int | None
    reports: tuple[Report, ...]


@dataclass(frozen=True, repr=False)
class StandardLog:
    """Rows of a standard log and its lists, and the window asked for (None: the default)."""

    rows: list[dict[str, str]]
    machines: list[dict[str, str]]
    parts: list[dict[str, str]]
    start: date | None
    end: date | None

    def __repr__(self) -> str:
        """The rows as a file holds them: a log that fails has to be read by somebody."""
        lines = [",".join(row.get(name, "") for name in LOG_HEADER) for row in self.rows]
        return "\n".join(
            [
                f"from {self.start} to {self.end}",
                ",".join(LOG_HEADER),
                *lines,
                *map(str, (self.machines, self.parts)),
            ]
        )

    def write(self, folder: Path) -> dict[str, Path]:
        """Write the files; the lists only when they have rows."""
        files = {
            "log": (LOG_HEADER, self.rows),
            "machines": (MACHINE_HEADER, self.machines),
            "parts": (PARTS_HEADER, self.parts),
        }
        paths = {}
        for name, (header, rows) in files.items():
            if rows:
                paths[name] = folder / f"{name}.csv"
                write_csv(paths[name], header, rows)
        return paths


def write_csv(path: Path, header: Sequence[str], rows: Sequence[dict[str, str]]) -> None:
    """Write rows under a header."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, header, restval="")
        writer.writeheader()
        writer.writerows(rows)


_works = st.builds(
    Work,
    symptom=st.sampled_from(SYMPTOMS),
    part=st.sampled_from((*PARTS, *PARTS, NAMED_PART, "")),
    status=st.sampled_from(STATUSES),
    action=st.sampled_from(ACTIONS),
    leaves_empty=st.sampled_from(("", "", *MAY_BE_EMPTY)),
)


def _calls(outcomes: Sequence[str]) -> st.SearchStrategy[Call]:
    return st.builds(
        Call,
        days=st.sampled_from(LENGTHS),
        hour=st.sampled_from((9, 12, 17)),
        minutes=st.sampled_from(("", "20", "45", "7.5", "60", "0")),
        outcome=st.sampled_from(outcomes),
        reason=st.sampled_from(REASONS),
        works=st.lists(_works, min_size=1, max_size=2).map(tuple),
    )


_reports = st.builds(
    Report,
    gap=st.sampled_from(GAPS),
    hour=st.sampled_from((8, 12, 18)),
    kind=st.sampled_from(KINDS),
    return_reason=st.sampled_from(("", "", "", "", "same fault", "wrong diagnosis", "unrelated")),
    names_the_last=st.booleans(),
    hides=st.sampled_from(("", "", "", "unit_id", "serial", "make", "model", "site_id")),
    calls=st.builds(
        lambda before, last: (*before, last), st.lists(_calls(BETWEEN), max_size=2), _calls(LAST)
    ),
)
_sketches = st.builds(
    Sketch,
    unit_type=st.sampled_from(TYPES),
    make=st.sampled_from(MAKES),
    model=st.sampled_from(MODELS),
    identity=st.sampled_from(IDENTITIES),
    site=st.integers(0, 6),
    starts=st.integers(0, 200),
    is_listed=st.booleans(),
    installed=st.sampled_from((-4000, -1700, -700, -100, 0, 50, 200)),
    removed=st.sampled_from((None, None, None, 30, 31, 90, 200, 400)),
    reports=st.lists(_reports, min_size=1, max_size=5).map(tuple),
)


@st.composite
def standard_logs(draw: st.DrawFn, *, machines: int = 16) -> StandardLog:
    """A log of about `machines` machines, one to five jobs each."""
    sketches = draw(st.lists(_sketches, min_size=machines, max_size=machines))
    has_times, has_visit_no = draw(st.booleans()), draw(st.booleans())
    rows: list[dict[str, str]] = []
    for number, sketch in enumerate(sketches):
        rows += _rows_of(sketch, number, has_times=has_times, has_visit_no=has_visit_no)
    rows += [dict(rows[at % len(rows)]) for at in draw(st.lists(st.integers(0, 500), max_size=3))]
    listed = draw(st.booleans())
    window = draw(
        st.sampled_from(((None, None), (None, None), (60, None), (None, 300), (40, 250), (100, 101)))
    )
    start, end = (None if n is None else FIRST_DAY + timedelta(days=n) for n in window)
    return StandardLog(rows, _listed(sketches) if listed else [], draw(_parts_lists), start, end)


_parts_lists = st.lists(
    st.sampled_from(("", "dishwasher", "washer|ice maker", "dishwasher|washer")), max_size=3
).map(
    lambda fits: [
        {"part_no": number, "part_name": f"part {number}", "fits": types}
        for number, types in zip(("100.20", "20030", "30040"), fits, strict=False)
    ]
)


def _listed(sketches: Sequence[Sketch]) -> list[dict[str, str]]:
    """The machine list: those that bear a number and are listed, with the day they left."""
    rows = []
    for number, sketch in enumerate(sketches):
        if sketch.is_listed and sketch.identity.startswith("unit"):
            first = FIRST_DAY + timedelta(days=sketch.starts)
            row = {
                **_machine_fields(sketch, number),
                "installed_on": str(FIRST_DAY + timedelta(days=sketch.installed)),
            }
            row.pop("site_kind", None)
            row["removed_on"] = "" if sketch.removed is None else str(first + timedelta(days=sketch.removed))
            rows.append(row)
    return rows


def _machine_fields(sketch: Sketch, number: int) -> dict[str, str]:
    fields = {"unit_type": sketch.unit_type, "make": sketch.make, "model": sketch.model}
    if sketch.identity.startswith("unit"):
        fields["unit_id"] = f"U-{number:03d}"
    if sketch.identity in ("unit and serial", "serial"):
        fields["serial"] = f"SN {number:04d}x"
    if sketch.identity != "none":
        fields["site_id"] = f"site {sketch.site}" if sketch.site < 4 else f"site 9{number}"
        fields["site_kind"] = "café" if sketch.identity == "café" else "household"
    return fields


def _rows_of(sketch: Sketch, number: int, *, has_times: bool, has_visit_no: bool) -> list[dict[str, str]]:
    on = FIRST_DAY + timedelta(days=sketch.starts)
    rows: list[dict[str, str]] = []
    before = ""
    for n, report in enumerate(sketch.reports):
        on += timedelta(days=report.gap)
        job_id = f"J{number}-{n}"
        job = {**_machine_fields(sketch, number), "job_id": job_id, "job_kind": report.kind}
        job.pop(report.hides, None)
        job["return_reason"] = report.return_reason
        job["return_of"] = before if report.names_the_last else ""
        at = datetime.combine(on, time(report.hour))
        rows += _job_rows(replace(report), job, at, has_times=has_times, has_visit_no=has_visit_no)
        before = job_id
    return rows


def _job_rows(
    report: Report, job: dict[str, str], at: datetime, *, has_times: bool, has_visit_no: bool
) -> list[dict[str, str]]:
    rows = []
    ended = at
    for number, call in enumerate(report.calls, start=1):
        # A visit starts no earlier than the one before it ended; an hour apart, so that starts tell visits apart.
        began = max(datetime.combine(ended.date() + timedelta(days=call.days), time(call.hour)), ended)
        ended = began + timedelta(hours=1 if has_times else 0)
        visit = {"visit_no": str(number)} if has_visit_no else {}
        visit["started_at"] = _text(began, has_times=has_times)
        visit["finished_at"] = "" if call.outcome in ("open", "") else _text(ended, has_times=has_times)
        visit |= {"hands_on_min": call.minutes, "outcome": call.outcome, "second_visit_reason": call.reason}
        for line, work in enumerate(call.works):
            row = {**job, "reported_at": _text(at, has_times=has_times), **visit, **_line(work)}
            if line or number > 1:
                row.pop(work.leaves_empty, None)
            rows.append({name: value for name, value in row.items() if value})
        if not has_times and not has_visit_no:
            ended += timedelta(days=1)
    return rows


def _line(work: Work) -> dict[str, str]:
    named = {"part_name": work.part} if work.part == NAMED_PART else {"part_no": work.part}
    return {"symptom": work.symptom, "part_status": work.status, "action": work.action, **named}


def _text(at: datetime, *, has_times: bool) -> str:
    return at.isoformat(timespec="minutes") if has_times else at.date().isoformat()
