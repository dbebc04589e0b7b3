"""The standard log: every column mendstat knows, what kind of value it holds and what it belongs to.

This is the one place that lists the columns. Readers map a file's headers to these names, intake treats a
column by its kind, the tables type it by its kind.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "number_of_job",  # kept as written, scrubbed: a job, visit or code number
    "identity",  # replaced by a keyed pseudonym before anything is written
    "area",  # cut to its coarse part before anything is written
    "word",  # a short text that the vocabulary may settle; scrubbed
    "text",  # a short text kept as it is, scrubbed: a make, a model, a part number
    "moment",  # date, or date and time
    "day",  # date, or a year, or a month
    "minutes",
    "count",  # whole number
    "number",
    "money",
    "yes_no",
    "note",  # read for known words, then dropped
]
Level = Literal["job", "machine", "visit", "line"]


@dataclass(frozen=True)
class Column:
    """One column of the standard log."""

    name: str
    kind: Kind
    level: Level


def _columns(level: Level, **kinds: Kind) -> tuple[Column, ...]:
    return tuple(Column(name, kind, level) for name, kind in kinds.items())


LOG: tuple[Column, ...] = (
    *_columns(
        "job",
        job_id="number_of_job",
        job_kind="word",
        visit_no="number_of_job",
        return_of="number_of_job",
        return_reason="word",
    ),
    *_columns(
        "machine",
        unit_id="identity",
        unit_type="word",
        make="text",
        model="text",
        serial="identity",
        made_on="day",
        installed_on="day",
        age_years="number",
        fitting="word",
        site_id="identity",
        site_kind="word",
        postcode="area",
    ),
    *_columns("job", reported_at="moment"),
    *_columns(
        "visit",
        booked_for="moment",
        started_at="moment",
        finished_at="moment",
        hands_on_min="minutes",
        travel_min="minutes",
        technician="identity",
    ),
    *_columns(
        "line",
        symptom="word",
        fault_code="text",
        check="word",
        check_result="word",
        reading="text",
        check_min="minutes",
        finding="word",
        mechanism="word",
        cause="word",
        part_no="text",
        part_name="word",
        part_status="word",
        part_source="word",
        quantity="number",
        part_cost="money",
        action="word",
    ),
    *_columns(
        "visit",
        charge="money",
        callout_charge="money",
        labour_charge="money",
        part_charge="money",
        currency="text",
        payer="word",
        outcome="word",
        second_visit_reason="word",
        installation_looked_at="yes_no",
        advised_not_done="word",
        test_run="yes_no",
        leak_check="yes_no",
        safety_test="yes_no",
        note="note",
    ),
)

MACHINES: tuple[Column, ...] = _columns(
    "machine",
    unit_id="identity",
    unit_type="word",
    make="text",
    model="text",
    serial="identity",
    installed_on="day",
    removed_on="day",
    site_id="identity",
)

PARTS: tuple[Column, ...] = _columns(
    "line",
    part_no="text",
    part_name="word",
    fits="word",
    unit_cost="money",
    lead_days="number",
    replaced_by="text",
    volume_l="number",
    safety_part="yes_no",
    least_order="number",
)

STOCK: tuple[Column, ...] = _columns("line", place="text", part_no="text", quantity="number", bought_on="day")

NOTICES: tuple[Column, ...] = _columns(
    "machine",
    make="text",
    model="text",
    serial_from="text",
    serial_to="text",
    text="text",
    reference="text",
    dated_on="day",
)

# What a file may be, and the columns each kind of file can carry.
LISTS: dict[str, tuple[Column, ...]] = {
    "log": LOG,
    "machines": MACHINES,
    "parts": PARTS,
    "stock": STOCK,
    "notices": NOTICES,
}

# What a layout may have read from a serial before it is replaced; no header is mapped to it.
FROM_SERIAL: tuple[Column, ...] = _columns("machine", serial_block="identity", made_week="day")
# Kinds of file whose machines have serials.
WITH_SERIALS = ("log", "machines")


def received_names(kind_of_file: str) -> tuple[str, ...]:
    """Names of the columns that received rows of a kind of file can have: the standard ones, and those from a serial."""
    more = FROM_SERIAL if kind_of_file in WITH_SERIALS else ()
    return (*column_names(kind_of_file), *(column.name for column in more))


def column_names(kind_of_file: str) -> tuple[str, ...]:
    """Names of the columns that a kind of file can carry, in the standard order."""
    return tuple(column.name for column in LISTS[kind_of_file])


def columns_of_kind(kind_of_file: str, *kinds: Kind) -> tuple[str, ...]:
    """Names of the columns of the given kinds, in the standard order."""
    return tuple(column.name for column in LISTS[kind_of_file] if column.kind in kinds)


def mendable_columns(kind_of_file: str) -> tuple[str, ...]:
    """Names of the columns whose cells a person may give by hand: never one that could say who somebody is."""
    return tuple(
        column.name for column in LISTS[kind_of_file] if column.kind not in ("identity", "area", "note")
    )
