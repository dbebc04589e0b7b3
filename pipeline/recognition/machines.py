"""Which columns say what machine it was and where it stands: numbers that come back, and what stays the same with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.recognition import shapes
from pipeline.recognition.clues import Clue, Clues
from pipeline.recognition.columns import Codes, Column
from pipeline.recognition.header_words import EXACT, scores
from pipeline.recognition.kinship import where_work_takes_part
from pipeline.recognition.relations import agreement, rising, together

OF_MACHINE = (
    "unit_type",
    "make",
    "model",
    "serial",
    "unit_id",
    "site_id",
    "site_kind",
    "postcode",
    "fitting",
)
NOT_OF_MACHINE = (
    "technician",
    "symptom",
    "outcome",
    "action",
    "finding",
    "part_no",
    "visit_no",
    "quantity",
    "part_name",
    "payer",
    "job_kind",
)
ALWAYS, NEARLY, SELDOM = 0.97, 0.9, 0.6
MOST_LETTERS = 0.8
ONE_CUSTOMER = 0.85  # of machines; their customers move, and are typed in different ways
FEWEST_MACHINES = 12
MANY = (
    0.12  # different numbers a job from which on a column names machines or places rather than kinds of them
)


@dataclass(frozen=True)
class Jobs:
    """Rows of which each is another job: lines of one job agree with each other and so say nothing."""

    rows: npt.NDArray[np.int64]

    def codes(self, column: Column) -> Codes:
        """Codes of a column in these rows."""
        codes: Codes = column.codes[self.rows]
        return codes

    def tells(self, one: Column, other: Column) -> float | None:
        """How far one column says what stands in another, from job to job."""
        return agreement(self.codes(one), self.codes(other))


def machine_clues(columns: Sequence[Column], roles: Mapping[str, Column]) -> Clues:
    """
    Clues from what stays the same when a number comes back.

    Parameters
    ----------
    columns : sequence of Column
        All.
    roles : mapping of str to Column
        Standard columns that are known so far; job_id and unit_type are used.
    """
    found: Clues = defaultdict(list)
    jobs = _jobs(columns, roles)
    others = [roles[name] for name in ("job_id", "part_no", "part_name", "return_of") if name in roles]
    candidates = [
        column
        for column in columns
        if _can_name(column)
        and column not in others
        and not _goes_with_part(column, roles)
        and not where_work_takes_part(column, roles)
    ]
    many = {column.position for column in candidates if _is_many(column, jobs)}
    names = [column for column in candidates if column.position in many]
    numbers = [
        column
        for column in names
        if column.code > 0.8 and not _is_personal(column) and not _says_otherwise(column.header)
    ]
    numbers = _without_sorts(found, numbers, names, jobs, roles)
    key = _finest(numbers, names, jobs)
    if key is None:
        return found
    kind = roles.get("unit_type")
    machine = jobs.codes(key)
    if key in numbers:
        _number_clues(found, key, numbers, jobs, roles)
    if kind is not None and key is not kind and (key not in numbers or _is_street(key)):
        # Where only a customer or an address is named, that and the kind of machine tell which machine it is.
        machine = _together(machine, jobs.codes(kind))
    static = []
    for column in candidates:
        stays = None if column is key or column is kind else agreement(machine, jobs.codes(column))
        if stays is None:
            continue
        if stays > NEARLY:
            static.append(column)
            _add(found, column, OF_MACHINE, Clue(1.0, "it stays the same with a machine"))
            _add(found, column, NOT_OF_MACHINE, Clue(-2.5))
        elif stays < SELDOM:
            _add(found, column, OF_MACHINE, Clue(-1.5))
            if column.position not in many:
                _add(found, column, ("technician",), Clue(0.8, "it changes from job to job on one machine"))
    known = {
        column.position
        for name, column in roles.items()
        if name in ("unit_type", "site_kind", "fitting", "postcode")
    }
    _type_clues(found, [c for c in static if c.position not in many and c.position not in known], jobs)
    return found


def _jobs(columns: Sequence[Column], roles: Mapping[str, Column]) -> Jobs:
    rows = columns[0].rows if columns else 0
    job = roles.get("job_id")
    if job is None:
        return Jobs(np.arange(rows))
    _, first = np.unique(job.codes, return_index=True)
    return Jobs(np.sort(first))


def _can_name(column: Column) -> bool:
    is_value = (
        column.is_measure
        or column.date > 0.5
        or column.pence > 0.5
        or column.length > 0.5
        or column.money_sign > 0.1
    )
    return not is_value and column.fill > 0.2 and column.distinct >= 2 and column.words <= 4.5


def _together(one: Codes, other: Codes) -> Codes:
    """Codes of two columns side by side; -1 where either is empty."""
    both = (one >= 0) & (other >= 0)
    pairs = one.astype(np.int64) * (int(other.max(initial=0)) + 1) + other
    codes = np.unique(np.where(both, pairs, -1), return_inverse=True)[1].astype(np.int32)
    return np.where(both, codes, -1).astype(np.int32)


def _goes_with_part(column: Column, roles: Mapping[str, Column]) -> bool:
    part = roles.get("part_name")
    return part is not None and together(part, column) > 0.8


def _is_many(column: Column, jobs: Jobs) -> bool:
    distinct = np.unique(jobs.codes(column)).size
    return distinct >= FEWEST_MACHINES and distinct > MANY * jobs.rows.size


def _says_otherwise(header: str) -> bool:
    """Whether a header says, word for word, that its column is no number of a machine or place."""
    return any(scores(header).get(target, 0.0) > 0.9 * EXACT for target in ("model", "part_no", "postcode"))


def _is_personal(column: Column) -> bool:
    return column.fits(shapes.TELEPHONE) > 0.7 or column.fits(shapes.EMAIL) > 0.6


def _is_street(column: Column) -> bool:
    return column.words >= 2 and column.fits(shapes.STREET) > 0.7


def _finest(numbers: Sequence[Column], names: Sequence[Column], jobs: Jobs) -> Column | None:
    """The column that says most about the others: the number of a machine; else whatever names its place."""
    usable = [column for column in numbers if rising(column) < NEARLY] or list(names)
    worth = {}
    for column in usable:
        told = [
            value
            for other in names
            if other is not column and (value := jobs.tells(column, other)) is not None
        ]
        repeats = jobs.rows.size - np.unique(jobs.codes(column)).size
        if repeats >= 8:
            worth[column.position] = (sum(told) / len(told) if told else 0.0) + 0.2 * column.fill
    return max((c for c in usable if c.position in worth), key=lambda c: worth[c.position], default=None)


def _number_clues(
    found: Clues,
    key: Column,
    numbers: Sequence[Column],
    jobs: Jobs,
    roles: Mapping[str, Column],
) -> None:
    """Which numbers are those of machines, and which of places."""
    kind = roles.get("unit_type")
    twins = [key]
    places: list[Column] = []
    for column in numbers:
        there, back = jobs.tells(key, column), jobs.tells(column, key)
        if column is key or there is None or back is None or there < NEARLY:
            continue
        (twins if back > ALWAYS or back >= there else places).append(column)
    kinds = jobs.tells(key, kind) if kind is not None and kind is not key else None
    if len(twins) == 1 and not places and kinds is not None and kinds < ALWAYS:
        _add(found, key, ("site_id",), Clue(2.0, "several kinds of machine stand under one of its numbers"))
        _add(found, key, ("unit_id", "serial"), Clue(-2.0))
        return
    twins.sort(key=lambda column: (column.longest, column.has_letters))
    for column in twins:
        _add(found, column, ("unit_id", "serial"), Clue(2.0, "it tells which machine"))
        _add(found, column, ("site_id", "part_no", "model"), Clue(-2.0))
    _add(
        found,
        twins[-1],
        ("serial",),
        Clue(
            1.0 if len(twins) > 1 or twins[-1].longest >= 10 else -1.0,
            "of the numbers of a machine it is the longest",
        ),
    )
    _add(
        found,
        twins[0],
        ("unit_id",),
        Clue(1.0 if len(twins) > 1 else 0.0, "of the numbers of a machine it is the shorter one"),
    )
    for column in places:
        if _sorts(column, kind, roles.get("make"), jobs):
            _add(found, column, ("model",), Clue(2.5, "all machines under it are of one kind and make"))
            _add(found, column, ("unit_id", "serial", "part_no", "site_id"), Clue(-2.0))
            continue
        _add(found, column, ("site_id",), Clue(2.5, "several machines stand under one of its numbers"))
        _add(found, column, ("unit_id", "serial", "part_no", "model"), Clue(-2.0))


def _sorts(column: Column, kind: Column | None, make: Column | None, jobs: Jobs) -> bool:
    """Whether something written in letters and digits goes with one kind and one make, as type designations do."""
    if column.has_letters < MOST_LETTERS or kind is None or make is None:
        return False
    told = [jobs.tells(column, other) for other in (kind, make)]
    return all(value is not None and value > ALWAYS for value in told)


def _without_sorts(
    found: Clues,
    numbers: Sequence[Column],
    names: Sequence[Column],
    jobs: Jobs,
    roles: Mapping[str, Column],
) -> list[Column]:
    """Numbers without those that many customers have: a machine stands with one, a model with anybody."""
    # Whoever rings may be another each time; a telephone or an address is that of one place.
    people = [column for column in names if _is_personal(column) or _is_street(column)]
    kind, make = roles.get("unit_type"), roles.get("make")
    kept = []
    for column in numbers:
        told = [value for other in people if (value := jobs.tells(column, other)) is not None]
        if told and max(told) < ONE_CUSTOMER and column.has_letters > MOST_LETTERS:
            sure = _sorts(column, kind, make, jobs)
            _add(found, column, ("model",), Clue(2.7 if sure else 1.5, "many customers have one"))
            _add(found, column, ("unit_id", "serial", "site_id"), Clue(-2.0))
        else:
            kept.append(column)
    return kept


def _type_clues(found: Clues, few: Sequence[Column], jobs: Jobs) -> None:
    """Of what stays with a machine and sorts machines: models tell makes."""
    if not few:
        return
    model = max(few, key=lambda column: (column.distinct, column.has_digits))
    if model.has_digits > 0.3 or len(few) > 1:
        _add(found, model, ("model",), Clue(1.5, "it sorts machines most finely"))
        _add(found, model, ("make",), Clue(-1.0))
    for column in few:
        if column is model and len(few) > 1:
            continue
        tells = jobs.tells(model, column) if column is not model else None
        if (tells is not None and tells > NEARLY) or (column is model and column.has_digits < 0.3):
            _add(
                found,
                column,
                ("make",),
                Clue(1.8, "each model has one" if column is not model else "a machine has one"),
            )


def _add(found: Clues, column: Column, targets: Sequence[str], clue: Clue) -> None:
    for target in targets:
        found[column.position, target].append(clue)
