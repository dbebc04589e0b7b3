"""Small standard logs for Hypothesis: many little machines, few parts, awkward dates, missing fields.

One log holds many machines that have nothing to do with each other, because a load costs far more than a draw.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Protocol, TypeVar

from hypothesis import strategies as st

T = TypeVar("T")
BOTH = (False, True)
FIRST_DAY = date(2021, 1, 2)
TYPES = ("dishwasher", "dishwasher", "washer", "ice maker")
MAKES = ("Make One", "Make Two")
MODELS = ("M10", "M20", "")
SYMPTOMS = ("not draining", "not draining", "noisy", "not heating", "")
# The first two are one part, written in two ways; the last has no number.
NAMED_PART = "quern stone"
PARTS = ("100-20", "100-20", "10020", "10020", "200.30", "300 40", NAMED_PART, "")
ACTIONS = ("clean", "free", "adjust", "repair", "reset", "replace", "replace", "clean", "test", "inspect")
STATUSES = ("", "", "", "", "fitted", "taken out again", "needed not on van", "ordered")
BETWEEN = ("return booked", "awaiting customer", "no access", "not finished", "temporary", "cancelled")
LAST = (
    *("fixed",) * 14,
    *("no fault found", "advised", "quote declined", "beyond economic repair", "no access", "cancelled"),
    *("referred", "made safe", "return booked", "open", ""),
)
KINDS = ("", "", "", "", "", "", "", "fault", "workshop", "planned service", "installation")
GAPS = (0, 0, 0, 1, 2, 15, 29, 30, 31, 32, 45, 59, 60, 61, 90, 150, 365, 760)
LENGTHS = (0, 0, 0, 0, 1, 3, 29, 30, 31, 45)
IDENTITIES = (
    *("unit", "unit", "unit", "unit", "unit", "unit and serial", "unit and serial", "serial", "serial"),
    *("household", "household", "household", "café", "none"),
)
REASONS = ("", "", "", "part not on van", "not diagnosed", "time")
MINUTES = ("", "20", "45", "7.5", "60", "32", "95")
WINDOWS = ((None, None), (None, None), (None, None), (60, None), (None, 500), (40, 700), (200, 230))
FITS = ("", "dishwasher", "washer|ice maker", "dishwasher|washer")

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


class Pick(Protocol):
    """Where choices come from: Hypothesis, or a seeded generator."""

    def __call__(self, options: Sequence[T], /) -> T:
        """One of the options."""


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


@st.composite
def standard_logs(draw: st.DrawFn, *, machines: int = 16) -> StandardLog:
    """A log of about `machines` machines, one to five jobs each; every choice is Hypothesis's, so that it can shrink."""
    return log_of(lambda options: draw(st.sampled_from(options)), machines)


def bulk_logs(*, machines: int = 60) -> st.SearchStrategy[StandardLog]:
    """Larger logs by seed: enough events in a group for the figures that small numbers do not reach."""
    return st.integers(0, 10**6).map(lambda seed: log_of(random.Random(seed).choice, machines))


def log_of(pick: Pick, machines: int) -> StandardLog:
    """A log and its lists, choice by choice."""
    has_times, has_visit_no, is_listed = pick(BOTH), pick(BOTH), pick(BOTH)
    rows: list[dict[str, str]] = []
    listed = []
    for number in range(machines):
        machine, identity = _machine(pick, number)
        first_on = FIRST_DAY + timedelta(days=pick(range(400)))
        jobs = _jobs(pick, machine, number, first_on, has_times=has_times, has_visit_no=has_visit_no)
        if is_listed and identity.startswith("unit") and pick((True, True, False)):
            listed.append(_listed(pick, machine, _days(jobs)))
        rows += jobs
    rows += [dict(rows[pick(range(len(rows)))]) for _ in range(pick(range(4)))]
    parts = [
        {"part_no": number, "part_name": f"part {number}", "fits": pick(FITS)}
        for number in ("100.20", "20030", "30040")
    ]
    return StandardLog(rows, listed, parts[: pick(range(4))], *_window(pick, _days(rows)))


def _days(rows: Sequence[dict[str, str]]) -> list[date]:
    """Days on which something was reported or finished."""
    texts = (row[name][:10] for row in rows for name in ("reported_at", "finished_at") if name in row)
    return [date.fromisoformat(text) for text in texts]


def _window(pick: Pick, days: Sequence[date]) -> tuple[date | None, date | None]:
    """The window asked for; some end just where a follow-up of 30 or 90 days does."""
    start, end = (None if n is None else FIRST_DAY + timedelta(days=n) for n in pick(WINDOWS))
    if pick(BOTH):
        return start, end
    end = pick(days) + timedelta(days=pick((0, 1, 30, 31, 90, 91)))
    return (None if start is None or start >= end else start), max(end, min(days) + timedelta(days=1))


def _machine(pick: Pick, number: int) -> tuple[dict[str, str], str]:
    """What is known of a machine, and by what it can be told from others; few sites, so that some share one."""
    identity, site = pick(IDENTITIES), pick(range(7))
    fields = {"unit_type": pick(TYPES), "make": pick(MAKES), "model": pick(MODELS)}
    if identity.startswith("unit"):
        fields["unit_id"] = f"U-{number:03d}"
    if identity in ("unit and serial", "serial"):
        fields["serial"] = f"SN {number:04d}x"
    if identity != "none":
        fields["site_id"] = f"site {site}" if site < 3 else f"site 9{number}"
        fields["site_kind"] = "café" if identity == "café" else "household"
    return fields, identity


def _listed(pick: Pick, machine: dict[str, str], days: Sequence[date]) -> dict[str, str]:
    """The machine's row in the machine list: when it came, and when it left if it did."""
    row = {name: value for name, value in machine.items() if name in MACHINE_HEADER}
    installed, removed = (
        pick(("", -4000, -1700, -700, -100, 0, 50, 200)),
        pick((*[None] * 6, 30, 31, 90, 200, 400)),
    )
    row["installed_on"] = "" if installed == "" else str(FIRST_DAY + timedelta(days=installed))
    row["removed_on"] = "" if removed is None else str(pick(days) + timedelta(days=removed))
    return row


def _jobs(
    pick: Pick, machine: dict[str, str], number: int, on: date, *, has_times: bool, has_visit_no: bool
) -> list[dict[str, str]]:
    rows: list[dict[str, str]] = []
    before = ""
    for n in range(pick((1, 2, 2, 3, 4, 5))):
        job = {**machine, "job_id": f"J{number}-{n}", "job_kind": pick(KINDS)}
        # A part of what is known of the machine is left out of the whole job.
        job.pop(pick((*[""] * 9, "unit_id", "serial", "make", "model", "site_id")), None)
        job["return_reason"] = pick((*[""] * 9, "same fault", "wrong diagnosis", "unrelated"))
        job["return_of"] = pick(("", "", before))
        at = datetime.combine(on, time(pick((8, 12, 18))))
        rows += _visits(pick, job, at, has_times=has_times, has_visit_no=has_visit_no)
        before = job["job_id"]
        on += timedelta(days=pick(GAPS))
    return rows


def _visits(
    pick: Pick, job: dict[str, str], at: datetime, *, has_times: bool, has_visit_no: bool
) -> list[dict[str, str]]:
    rows = []
    ended = at
    outcomes = (*(pick(BETWEEN) for _ in range(pick((0, 0, 0, 1, 2)))), pick(LAST))
    for number, outcome in enumerate(outcomes, start=1):
        # A visit starts no earlier than the one before it ended.
        began = max(
            datetime.combine(ended.date() + timedelta(days=pick(LENGTHS)), time(pick((9, 12, 17)))), ended
        )
        ended = began + timedelta(hours=1 if has_times else 0)
        visit = {"visit_no": str(number)} if has_visit_no else {}
        visit["started_at"] = _text(began, has_times=has_times)
        visit["finished_at"] = "" if outcome in ("open", "") else _text(ended, has_times=has_times)
        visit |= {"hands_on_min": pick(MINUTES), "outcome": outcome, "second_visit_reason": pick(REASONS)}
        for line in range(pick((1, 1, 2))):
            row = {**job, "reported_at": _text(at, has_times=has_times), **visit, **_line(pick)}
            if line or number > 1:
                row.pop(pick(("", "", *MAY_BE_EMPTY)), None)
            rows.append({name: value for name, value in row.items() if value})
        if not has_times and not has_visit_no:
            # Only their starts tell these visits apart.
            ended += timedelta(days=1)
    return rows


def _line(pick: Pick) -> dict[str, str]:
    part = pick(PARTS)
    named = {"part_name": part} if part == NAMED_PART else {"part_no": part}
    return {"symptom": pick(SYMPTOMS), "part_status": pick(STATUSES), "action": pick(ACTIONS), **named}


def _text(at: datetime, *, has_times: bool) -> str:
    return at.isoformat(timespec="minutes") if has_times else at.date().isoformat()
