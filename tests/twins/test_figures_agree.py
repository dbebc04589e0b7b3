"""Every figure against its twin: the same drawn log through the public way in, equal answers cell by cell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.errors import CannotAnswerError
from tests.twins import fixed, part_rate, repeats, times
from tests.twins.harness import asked, differences, loaded
from tests.twins.log import Job, Windows, jobs_of, part_of, windows_of
from tests.twins.machines import Machine, identify
from tests.twins.strategies import StandardLog, bulk_logs, standard_logs

EXAMPLES, MANY_EXAMPLES = 10, 150
BULK_EXAMPLES, MANY_BULK_EXAMPLES = 5, 60
Answer = Mapping[tuple[str, ...], Mapping[str, Any]]


@dataclass(frozen=True)
class Twin:
    """A drawn log as the twins see it."""

    log: StandardLog
    jobs: list[Job]
    machines: dict[tuple[str, ...], Machine]
    windows: Windows

    @property
    def start(self) -> date:
        """First day that counts."""
        return self.log.start or self.windows.first_on

    def end(self, *, closed: bool) -> date:
        """First day that no longer counts."""
        return self.log.end or (
            self.windows.closed_complete_to if closed else self.windows.reports_complete_to
        )


def twin_of(log: StandardLog) -> Twin:
    """Read a drawn log the slow way."""
    jobs = jobs_of(log.rows)
    return Twin(log, jobs, identify(jobs, log.machines), windows_of(jobs))


def keyed(rows: list[dict[str, Any]], *names: str) -> Answer:
    """Rows by their groups; a part by what makes it the same part."""
    answer = {}
    for row in rows:
        part = (part_of({n: row[n] or "" for n in ("part_no", "part_name")}),) if "part_no" in names else ()
        answer[(*part, *(row[n] or "" for n in names if n != "part_no"))] = row
    assert len(answer) == len(rows), "two rows for one group"
    return answer


def fixed_share_cells(con: Any, twin: Twin) -> Iterator[tuple[str, Answer, Answer]]:
    """Fixed share, over all and by a column."""
    start, end = twin.start, twin.end(closed=False)
    for by in ((), ("unit_type",), ("make",)):
        got = keyed(answered(con, twin, "fixed-share", by=by), *by)
        # Where no job of the log is called fixed there is nothing to tell.
        is_told = any(job.is_fault and job.outcome == "fixed" for job in twin.jobs)
        expected = fixed.fixed_share(twin.jobs, twin.machines, start, end, *by) if is_told else {}
        yield f"fixed share {by}", expected, got


def barrier_cells(con: Any, twin: Twin) -> Iterator[tuple[str, Answer, Answer]]:
    """What stopped the jobs that were not fixed."""
    expected = fixed.barriers(twin.jobs, twin.start, twin.end(closed=False))
    got = keyed(answered(con, twin, "not-fixed-reasons"), "second_visit_reason")
    # Where no job says a reason there is nothing to tell.
    yield "not fixed", expected if expected.keys() - {("",)} else {}, got


def repeat_cells(con: Any, twin: Twin) -> Iterator[tuple[str, Answer, Answer]]:
    """Repeat visits of either kind, by 30 and 90 days."""
    start, end = twin.start, twin.end(closed=True)
    for by in ((), ("unit_type",)):
        for kind in ("any", "same-fault"):
            for days in (30, 90):
                got = keyed(answered(con, twin, "repeat-visits", by=by, kind=kind, days=days), *by)
                expected = repeats.repeat_visits(
                    twin.jobs,
                    twin.machines,
                    start,
                    end,
                    days=days,
                    same_fault=kind == "same-fault",
                    by="".join(by),
                )
                yield f"repeat visits {by} {kind} {days}", expected, got


def time_cells(con: Any, twin: Twin) -> Iterator[tuple[str, Answer, Answer]]:
    """The three clocks."""
    start, end = twin.start, twin.end(closed=True)
    for clock, work_out in (
        ("hands-on", times.hands_on),
        ("visits", times.visits),
        ("restored", times.restored),
    ):
        expected = work_out(twin.jobs, start, end)
        got = keyed(answered(con, twin, "time-to-fix", clock=clock))
        yield f"time to fix {clock}", {(): expected} if expected else {}, got


def rate_cells(con: Any, twin: Twin) -> Iterator[tuple[str, Answer, Answer]]:
    """Part failure rates on each basis."""
    window = twin.start, twin.end(closed=True)
    machines = list(twin.machines.values())
    for basis in (part_rate.LIST, part_rate.SEEN):
        for by in ("", "unit_type", "model", "age_band"):
            columns = ("part_no", by) if by else ("part_no",)
            got = keyed(answered(con, twin, "part-failure-rate", by=columns, basis=basis), *columns)
            expected = part_rate.part_rates(machines, twin.jobs, twin.log.parts, basis, window, by=by)
            yield f"part rate {basis} {by}", expected, got
    got = keyed(answered(con, twin, "part-failure-rate", basis="shares"), "part_no")
    fits = part_rate.fits_of(twin.jobs, twin.log.parts)
    yield "part shares", part_rate.part_shares(twin.jobs, fits, *window), got


def answered(con: Any, twin: Twin, name: str, **choices: Any) -> list[dict[str, Any]]:
    """The product's rows; none where it says that it cannot answer."""
    try:
        return asked(con, twin.log, name, **choices)
    except CannotAnswerError:
        return []


def assert_every_cell_agrees(log: StandardLog) -> None:
    """Load a log and compare all its figures."""
    twin = twin_of(log)
    found = []
    with loaded(log) as con:
        for cells in (fixed_share_cells, barrier_cells, repeat_cells, time_cells, rate_cells):
            for what, expected, got in cells(con, twin):
                found += [f"{what}: {difference}" for difference in differences(expected, got)]
    assert not found, "\n".join(found)


def often(examples: int) -> settings:
    """A number of drawn logs; a load takes its time, so no example is hurried."""
    return settings(
        max_examples=examples, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
    )


@often(EXAMPLES)
@given(standard_logs())
def test_every_figure_agrees_with_its_twin(log: StandardLog) -> None:
    assert_every_cell_agrees(log)


@often(BULK_EXAMPLES)
@given(bulk_logs())
def test_every_figure_agrees_with_its_twin_where_there_is_much_to_count(log: StandardLog) -> None:
    assert_every_cell_agrees(log)


@pytest.mark.full
@pytest.mark.parametrize(
    ("logs", "examples"), [(standard_logs(), MANY_EXAMPLES), (bulk_logs(), MANY_BULK_EXAMPLES)]
)
def test_every_figure_agrees_with_its_twin_on_many_logs(
    logs: st.SearchStrategy[StandardLog], examples: int
) -> None:
    often(examples)(given(logs)(assert_every_cell_agrees))()
