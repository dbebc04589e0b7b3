"""Which of several columns of dates is which: a problem is reported, booked for a day, begun and finished, in this order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from pipeline.recognition.clues import Clue, Clues
from pipeline.recognition.columns import Column, Values
from pipeline.recognition.relations import before, determines

MOMENTS = ("reported_at", "booked_for", "started_at", "finished_at")
YEARS_EARLIER = 200.0  # days before the visit by which the machine's own dates lie, in the middle
SAME_VISIT = 0.5  # days: what is nearer belongs to one visit
PLACE = 2.5  # what its place in the order weighs
ALONE = 1.0  # what it weighs to be the only one, where the other may be the day of the report
CLOCK_ALONE = 3.0


def order_clues(columns: Sequence[Column], machine: Column | None, *, month_first: bool) -> Clues:
    """Clues from the order of the columns of dates; none where there is only one."""
    found: Clues = defaultdict(list)
    dated = [column for column in columns if column.date >= 0.6 and column.filled]
    days = {column.position: column.days(month_first=month_first) for column in dated}
    of_machine = [column for column in dated if _is_of_machine(column, dated, days, machine)]
    for column in of_machine:
        found[column.position, "installed_on"].append(
            Clue(2.5, "it lies long before the visits and stays with a machine")
        )
        found[column.position, "made_on"].append(
            Clue(2.3, "it lies long before the visits and stays with a machine")
        )
        for target in MOMENTS:
            found[column.position, target].append(Clue(-5.0))
    if len(of_machine) == 2:
        first, second = sorted(of_machine, key=lambda each: float(np.nanmedian(days[each.position])))
        found[first.position, "made_on"].append(Clue(1.0, "it is the earlier of two"))
        found[second.position, "installed_on"].append(Clue(1.0, "it is the later of two"))
    visits = [column for column in dated if column not in of_machine]
    for column in visits:
        for target in ("installed_on", "made_on"):
            found[column.position, target].append(Clue(-2.0))
    for column, target, clue in _places(visits, days):
        found[column.position, target].append(clue)
    return found


def _is_of_machine(
    column: Column, dated: Sequence[Column], days: dict[int, Values], machine: Column | None
) -> bool:
    """Whether dates lie long before those of some other column, and stay with the machine where one is known."""
    later = [before(days[column.position], days[other.position]) for other in dated if other is not column]
    if not any(share > 0.97 and gap > YEARS_EARLIER and rows >= 5 for share, gap, rows in later):
        return False
    stays = determines(machine, column) if machine is not None else None
    return stays is None or stays > 0.8


def _places(visits: Sequence[Column], days: dict[int, Values]) -> list[tuple[Column, str, Clue]]:
    """Columns of dates of a visit in their order, with what each place in it means and weighs."""
    only = "it is the only date of the visit"
    if len(visits) < 2:
        return [(column, "finished_at", Clue(PLACE, only)) for column in visits]
    # Of two that are mostly the same day the appointment stands in more rows: some visits were never made.
    ordered = sorted(visits, key=lambda column: (_later_than_others(column, visits, days), -column.filled))
    first, last = ordered[0], ordered[-1]
    gap = before(days[first.position], days[last.position])[1]
    places = [(last, "finished_at", Clue(PLACE, "it is the last of the dates"))]
    # Days without a time of day may well be the same: hardly anybody writes the day of one visit twice.
    if gap >= SAME_VISIT or len(ordered) > 2 or first.has_clock < 0.5:
        places.append((first, "reported_at", Clue(PLACE, "it is the first of the dates")))
        middle = ordered[1:-1]
    else:
        middle = [first]
    if len(ordered) == 2 and len(places) == 2:
        places.append((last, "finished_at", Clue(ALONE, only)))
    for column in middle:
        to_end = before(days[column.position], days[last.position])[1]
        begun = column.has_clock > 0.5 and 0 < to_end < SAME_VISIT and _odd_minutes(column) > 0.3
        target = "started_at" if begun else "booked_for"
        says = (
            "it lies shortly before the end"
            if begun
            else "it lies between report and end, as an appointment does"
        )
        places.append((column, target, Clue(PLACE, says)))
    return places


def _later_than_others(column: Column, visits: Sequence[Column], days: dict[int, Values]) -> float:
    """Mean of the median gaps by which a column lies after the others, in days."""
    gaps = [before(days[other.position], days[column.position])[1] for other in visits if other is not column]
    return float(np.clip(gaps, -30, 30).mean())


def _odd_minutes(column: Column) -> float:
    """Share of times of day that are on no quarter of an hour: nobody books those."""
    clocks = [day.clock for day in column.as_days if day is not None and day.clock]
    return sum(clock % 15 != 0 for clock in clocks) / len(clocks) if clocks else 0.0
