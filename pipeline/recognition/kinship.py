"""Clues from how columns go together, once it is roughly known which is which."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from pipeline.recognition.clues import Clue, Clues
from pipeline.recognition.columns import Codes, Column
from pipeline.recognition.relations import agreement, determines, rising, side_by_side, together, within

OF_VISIT = (
    "charge",
    "callout_charge",
    "labour_charge",
    "part_charge",
    "outcome",
    "hands_on_min",
    "travel_min",
    "technician",
    "payer",
    "symptom",
)
OF_LINE = (
    *(
        "part_no",
        "part_name",
        "action",
        "quantity",
        "part_cost",
        "part_status",
        "part_source",
        "finding",
        "check_min",
    ),
)
ALWAYS = 0.9
MOST_MONEY = 100_000.0  # a median amount above is some number
ROWS_ADDED = 3_000
FEWEST_FILLED = 30  # rows, of fewer it may be chance

Roles = Mapping[str, Column]


def kinship_clues(columns: Sequence[Column], roles: Roles) -> Clues:
    """
    Clues from pairs of columns.

    Parameters
    ----------
    columns : sequence of Column
        All.
    roles : mapping of str to Column
        Standard columns that are known so far.
    """
    found: Clues = defaultdict(list)
    for column in columns:
        if not column.filled:
            continue
        for target, clue in (
            *_as_job(column),
            *_with_visit(column, roles),
            *_with_part(column, roles),
            *_with_work(column, roles),
            *_with_jobs(column, roles),
        ):
            found[column.position, target].append(clue)
    for position, target, clue in (*_sums(columns), *_times(columns, roles)):
        found[position, target].append(clue)
    return found


def _as_job(column: Column) -> Iterator[tuple[str, Clue]]:
    if column.code < 0.8 or column.date > 0.5 or column.pence > 0.5 or column.distinct < 3:
        return
    up = rising(column)
    if up > 0.9 and column.distinct > 0.1 * column.filled and column.fill > 0.8:
        beside = side_by_side(column)
        says = "its numbers rise down the file" + (
            " and repeat on the lines of one job" if beside > 0.5 else ""
        )
        yield "job_id", Clue(3.0 if beside == 0 or beside > 0.5 else 1.5, says)
        for target in ("unit_id", "serial", "site_id", "part_no"):
            yield target, Clue(-2.5)
    else:
        yield "job_id", Clue(-1.0 if up > 0.6 else -2.0)


def _visit_codes(roles: Roles) -> Codes | None:
    """One number a visit: its job and the date of the visit together."""
    if "job_id" not in roles:
        return None
    dated = next((name for name in ("finished_at", "started_at", "visit_no") if name in roles), "job_id")
    parts = [roles["job_id"].codes, roles[dated].codes]
    joined = np.zeros(parts[0].size, dtype=np.int64)
    for part in parts:
        joined = joined * (int(part.max()) + 2) + part + 1
    return np.unique(joined, return_inverse=True)[1].astype(np.int32)


def _with_visit(column: Column, roles: Roles) -> Iterator[tuple[str, Clue]]:
    visits = _visit_codes(roles)
    stays = agreement(visits, column.codes) if visits is not None else None
    if stays is None:
        return
    if stays > 0.97:
        for target in OF_VISIT:
            yield target, Clue(0.6, "it is the same on all lines of a visit")
        for target in ("part_no", "part_cost", "quantity", "part_name"):
            yield target, Clue(-0.8)
    elif stays < 0.8:
        for target in OF_VISIT:
            yield target, Clue(-1.2)
        for target in OF_LINE:
            yield target, Clue(0.6, "it differs from line to line of a visit")


def _with_part(column: Column, roles: Roles) -> Iterator[tuple[str, Clue]]:
    for one, other in (("part_name", "part_no"), ("part_no", "part_name")):
        part = roles.get(one)
        if part is None or part is column:
            continue
        beside, tells, back = together(part, column), determines(column, part), determines(part, column)
        if beside > 0.25 and _only_where(column, part):
            for target in ("part_no", "part_name", "quantity", "part_cost", "part_status", "part_source"):
                yield target, Clue(1.0, "it is filled only where a part is")
            if column.fill < 0.95 * max(each.fill for each in roles.values()):
                # What was charged in all stands where no part is, too.
                yield "charge", Clue(-2.5)
            if beside > 0.8 and tells is not None and tells > ALWAYS and column.distinct >= 3:
                yield other, Clue(1.5, "each goes with one part")
            if back is not None and back > 0.4 and column.pence > 0.3:
                yield "part_cost", Clue(1.5, "a part mostly costs the same")
        elif beside < 0.3 and part.fill < 0.95:
            for target in ("part_no", "quantity", "part_cost", "part_status", "part_source"):
                yield target, Clue(-1.5)
        return


def where_work_takes_part(column: Column, roles: Roles) -> bool:
    """Whether a column is filled for some kinds of work and empty for the others."""
    work = roles.get("action")
    if work is None or work is column or not column.rows or not 0.1 < column.says.mean() < 0.97:
        return False
    told = agreement(work.codes, column.says.astype(np.int32))
    return told is not None and told > ALWAYS


def _with_work(column: Column, roles: Roles) -> Iterator[tuple[str, Clue]]:
    """A part stands only where the work is one that takes a part, or where a number of parts is written down."""
    if not column.rows or not 0.1 < column.says.mean() < 0.97 or column.codes.size < FEWEST_FILLED:
        return
    count = roles.get("quantity")
    says = "it is filled only where the work takes a part" if where_work_takes_part(column, roles) else ""
    if not says and count is not None and count is not column and together(count, column) > 0.95:
        says = "it is filled only where a number of parts is"
    if says:
        for target in ("part_no", "part_name", "quantity", "part_cost"):
            yield target, Clue(1.5, says)
        for target in ("unit_id", "serial", "site_id", "charge"):
            yield target, Clue(-2.5)


def _only_where(column: Column, part: Column) -> bool:
    filled = column.codes >= 0
    return part.fill < 0.97 and float((part.codes[filled] >= 0).mean()) > 0.95


def _with_jobs(column: Column, roles: Roles) -> Iterator[tuple[str, Clue]]:
    job = roles.get("job_id")
    if job is None or job is column or not column.distinct:
        return
    inside = within(column, job)
    if inside > 0.8 and column.fill < 0.6 and column.distinct > 2 and column.longest >= 3:
        yield "return_of", Clue(4.0, "its numbers are those of earlier jobs")
        yield "job_id", Clue(-3.0)
    else:
        yield "return_of", Clue(-3.0)
    if column.whole > 0.95 and column.distinct <= 15 and _counts_within(column, job):
        yield "visit_no", Clue(2.5, "it counts up within a job")
        yield "technician", Clue(-3.0)


def _counts_within(column: Column, job: Column) -> bool:
    """Whether the numbers of a job begin with 1 and never go down."""
    starts = np.r_[True, job.codes[1:] != job.codes[:-1]]
    numbers = column.numbers
    first = numbers[starts & (job.codes >= 0)]
    same = (~starts)[1:]
    steps = (numbers[1:] - numbers[:-1])[same]
    goes_up = bool((steps > 0).any()) or column.distinct == 1
    return (
        float((first == 1).mean()) > 0.9
        and goes_up
        and float((steps >= 0).mean() if steps.size else 1.0) > 0.97
    )


def _sums(columns: Sequence[Column]) -> Iterator[tuple[int, str, Clue]]:
    """An amount that is the sum of two or three others is the whole charge."""
    amounts = [
        c for c in columns if c.number > 0.9 and c.filled > 10 and c.date < 0.5 and c.middle < MOST_MONEY
    ]
    values = {c.position: np.nan_to_num(c.numbers[:ROWS_ADDED]) for c in amounts}
    for whole in sorted(amounts, key=lambda c: -c.middle)[:4]:
        total = values[whole.position]
        there = total > 0
        rest = [
            c
            for c in amounts
            if c is not whole and (values[c.position][there] <= total[there] + 0.01).mean() > 0.9
        ]
        for parts in (*combinations(rest[:8], 3), *combinations(rest[:8], 2)):
            added = np.sum([values[part.position] for part in parts], axis=0)
            # Where some part is nought throughout, the rest are no sum but the same.
            if (
                there.sum() > 10
                and all((values[part.position][there] > 0).mean() > 0.1 for part in parts)
                and (float((np.abs(added - total)[there] < 0.02).mean()) > 0.9)
            ):
                yield whole.position, "charge", Clue(3.5, "it is the sum of the amounts beside it")
                for part in parts:
                    for target in ("charge", "part_cost", "hands_on_min", "travel_min"):
                        yield part.position, target, Clue(-4.0)
                    for target in ("callout_charge", "labour_charge", "part_charge"):
                        yield part.position, target, Clue(3.5, "the charge is the sum of it and others")
                yield from _summands(parts)
                return


def _summands(parts: Sequence[Column]) -> Iterator[tuple[int, str, Clue]]:
    """Of the amounts that make up a charge: the call-out has few values, the parts are nought where no part is."""
    fewest = min(parts, key=lambda part: part.distinct)
    if fewest.distinct <= 8:
        yield fewest.position, "callout_charge", Clue(1.2, "it is nearly always the same amount")
    nought = {
        part.position: float((np.nan_to_num(part.numbers[part.codes >= 0]) == 0).mean()) for part in parts
    }
    for part in parts:
        filled = min(part.fill, 1 - nought[part.position])
        if part is not fewest and all(
            filled < 0.9 * min(other.fill, 1 - nought[other.position]) for other in parts if other is not part
        ):
            yield part.position, "part_charge", Clue(1.2, "it is there less often than the others")
        elif part is not fewest:
            yield part.position, "labour_charge", Clue(0.9, "it is what remains of the charge")


def _times(columns: Sequence[Column], roles: Roles) -> Iterator[tuple[int, str, Clue]]:
    """Minutes that are never more than the visit took are those at the machine."""
    if "started_at" not in roles or "finished_at" not in roles:
        return
    took = (roles["finished_at"].days(month_first=False) - roles["started_at"].days(month_first=False)) * 1440
    for column in columns:
        if column.date > 0.5 or column.pence > 0.7 or (column.number < 0.9 and column.length < 0.3):
            continue
        minutes = np.where(np.isnan(column.lengths), column.numbers, column.lengths)
        both = ~np.isnan(minutes) & ~np.isnan(took) & (took > 0)
        if both.sum() > 10 and column.distinct > 5:
            alike = float(np.corrcoef(minutes[both], took[both])[0, 1]) if np.ptp(minutes[both]) else 0.0
            if alike > 0.7:
                yield (
                    column.position,
                    "hands_on_min",
                    Clue(2.0, "it goes with the time between begin and end"),
                )
            elif alike < 0.3:
                yield column.position, "hands_on_min", Clue(-1.5)
                yield (
                    column.position,
                    "travel_min",
                    Clue(0.8, "it does not go with the time between begin and end"),
                )
