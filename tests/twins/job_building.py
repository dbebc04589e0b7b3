"""Slow and plain: rows without job numbers → jobs, by the rules of job building alone.

Rows name their machine by unit_id, or not at all; then a site and kind may stand for the place of a visit.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from tests.twins.log import Row

LEFT_OPEN = ("return booked", "awaiting customer", "temporary", "no access", "not finished")
CLOSED = (
    "fixed",
    "no fault found",
    "advised",
    "quote declined",
    "beyond economic repair",
    "referred",
    "made safe",
)
ON_ORDER = ("ordered", "needed not on van")
Job = frozenset[tuple[tuple[str, str], ...]]


def jobs_of_rows(rows: Sequence[Row]) -> dict[Job, str]:
    """Each job as the set of its distinct rows, with the rule of its last visit."""
    visits: dict[tuple[str, ...], list[Row]] = defaultdict(list)
    distinct = list({_content(row): row for row in rows}.values())
    for row in distinct:
        visits[_visit(row, distinct)].append(row)
    jobs: list[tuple[list[Row], str]] = []
    for line in _lines_of_visits(visits):
        open_until: tuple[date, int] | None = None
        was_closed = False
        for visit in line:
            day = _day(visit[0])
            if open_until and (day - open_until[0]).days <= open_until[1]:
                jobs[-1] = ([*jobs[-1][0], *visit], "planned return")
            else:
                jobs.append((list(visit), "new after a closed job" if was_closed else "new"))
            was_closed = any(row.get("outcome") in CLOSED for row in visit)
            open_until = (day, _days_to_wait(visit)) if _is_left_open(visit) else None
    return {frozenset(map(_content, job)): rule for job, rule in jobs}


def _content(row: Row) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((name, value) for name, value in row.items() if value))


def _day(row: Row) -> date:
    said = next(row[name] for name in ("started_at", "finished_at", "reported_at") if row.get(name))
    return date.fromisoformat(said[:10])


def _kind(row: Row) -> str:
    kind = row.get("job_kind") or "fault"
    return "fault" if kind == "workshop" else kind


def _visit(row: Row, rows: Sequence[Row]) -> tuple[str, ...]:
    """What tells visits apart: machine or place, kind of job, day, and the start where one is given."""
    if row.get("unit_id"):
        place = ("unit", row["unit_id"])
    elif row.get("site_id"):
        place = ("site", row["site_id"], row["unit_type"])
    else:
        return ("alone", str(_content(row)))
    same_day = [r for r in rows if _place(r) == place and _kind(r) == _kind(row) and _day(r) == _day(row)]
    starts = sorted(r["started_at"] for r in same_day if r.get("started_at"))
    start = row.get("started_at") or (starts[0] if starts else "")
    return (*place, _kind(row), _day(row).isoformat(), start)


def _place(row: Row) -> tuple[str, ...]:
    if row.get("unit_id"):
        return ("unit", row["unit_id"])
    return ("site", row.get("site_id", ""), row["unit_type"])


def _lines_of_visits(visits: dict[tuple[str, ...], list[Row]]) -> list[list[list[Row]]]:
    """Visits of each machine in order; a visit whose machine is not known stands alone."""
    machines: dict[tuple[str, ...], list[tuple[tuple[str, ...], list[Row]]]] = defaultdict(list)
    for key, rows in visits.items():
        machines[key[:3] if key[0] == "unit" else key].append((key, rows))
    return [[rows for _, rows in sorted(line)] for line in machines.values()]


def _is_left_open(visit: Sequence[Row]) -> bool:
    outcomes = {row.get("outcome", "") for row in visit} - {""}
    if outcomes & set(CLOSED):
        return False
    return bool(outcomes & set(LEFT_OPEN)) or (not outcomes and _is_on_order(visit))


def _is_on_order(visit: Sequence[Row]) -> bool:
    return any(
        row.get("part_status") in ON_ORDER or row.get("second_visit_reason") == "part not on van"
        for row in visit
    )


def _days_to_wait(visit: Sequence[Row]) -> int:
    return 180 if _is_on_order(visit) else 60
