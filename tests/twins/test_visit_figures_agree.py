"""Figures of visits against their twins: the same drawn log through the public way in, equal answers cell by cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.twins import first_visits, no_fault, second_visits, unpaid, wrong_parts
from tests.twins.harness import differences, loaded
from tests.twins.strategies import StandardLog, bulk_logs
from tests.twins.test_figures_agree import Answer, Twin, answered, keyed, often, twin_of
from tests.twins.visit_logs import visit_logs

EXAMPLES, MANY_EXAMPLES = 10, 100
BULK_EXAMPLES, MANY_BULK_EXAMPLES = 4, 40
Cells = Iterator[tuple[str, Answer, Answer]]


def first_visit_cells(con: Any, twin: Twin) -> Cells:
    """First-visit completion, plain and strict."""
    start, end = twin.start, twin.end(closed=True)
    for by in ((), ("unit_type",), ("make",)):
        for days in (30, 90):
            got = keyed(answered(con, twin, "first-visit", by=by, days=days), *by)
            expected = first_visits.first_visit(
                twin.jobs, twin.machines, start, end, days=days, by="".join(by)
            )
            yield f"first visit {by} {days}", expected, got


def no_fault_cells(con: Any, twin: Twin) -> Cells:
    """Jobs without a finding, and their repeats of either kind."""
    start, end = twin.start, twin.end(closed=True)
    for by in ((), ("unit_type",)):
        for kind, days in (("any", 30), ("same-fault", 90)):
            got = keyed(answered(con, twin, "no-fault-found", by=by, kind=kind, days=days), *by)
            same = kind == "same-fault"
            expected = no_fault.no_fault_found(
                twin.jobs, twin.machines, start, end, days=days, same_fault=same, by="".join(by)
            )
            yield f"no fault found {by} {kind} {days}", expected, got


def wrong_part_cells(con: Any, twin: Twin) -> Cells:
    """Fixes that another part showed to be wrong, by symptom and procedure and over all."""
    start, end = twin.start, twin.end(closed=True)
    for by in (("part_no", "symptom", "unit_type", "action"), ("part_no",), ("unit_type",)):
        got = keyed(answered(con, twin, "wrong-part", by=by), *by)
        yield f"wrong part {by}", wrong_parts.wrong_part(twin.jobs, twin.machines, start, end, *by), got


def unpaid_cells(con: Any, twin: Twin) -> Cells:
    """Unpaid hours per 100 jobs and by kind; the interval is drawn, so it has tests of its own."""
    start, end = twin.start, twin.end(closed=True)
    for by in ((), ("unit_type",)):
        got = keyed(answered(con, twin, "unpaid-hours", by=by), *by)
        yield (
            f"unpaid hours {by}",
            unpaid.unpaid_hours(twin.jobs, twin.machines, start, end, "".join(by)),
            got,
        )


def second_visit_cells(con: Any, twin: Twin) -> Cells:
    """Why the first visit was not enough: by reason, and by the part that was missing."""
    start, end = twin.start, twin.end(closed=True)
    for by, split in (
        ("second_visit_reason", second_visits.reason_of),
        ("part_no", second_visits.missing_of),
    ):
        got = keyed(answered(con, twin, "second-visits", by=(by,)), by)
        yield f"second visits {by}", second_visits.second_visits(twin.jobs, start, end, split), got


ALL_CELLS = (first_visit_cells, second_visit_cells, no_fault_cells, wrong_part_cells, unpaid_cells)


def assert_every_cell_agrees(log: StandardLog) -> None:
    """Load a log and compare."""
    twin = twin_of(log)
    found = []
    with loaded(log) as con:
        for cells in ALL_CELLS:
            for what, expected, got in cells(con, twin):
                found += [f"{what}: {difference}" for difference in differences(expected, got)]
    assert not found, "\n".join(found)


@often(EXAMPLES)
@given(visit_logs())
def test_every_figure_of_visits_agrees_with_its_twin(log: StandardLog) -> None:
    assert_every_cell_agrees(log)


@often(BULK_EXAMPLES)
@given(visit_logs(bulk_logs()))
def test_every_figure_of_visits_agrees_with_its_twin_where_there_is_much_to_count(log: StandardLog) -> None:
    assert_every_cell_agrees(log)


@pytest.mark.full
@pytest.mark.parametrize(
    ("logs", "examples"), [(visit_logs(), MANY_EXAMPLES), (visit_logs(bulk_logs()), MANY_BULK_EXAMPLES)]
)
def test_every_figure_of_visits_agrees_with_its_twin_on_many_logs(
    logs: st.SearchStrategy[StandardLog], examples: int
) -> None:
    often(examples)(given(logs)(assert_every_cell_agrees))()
