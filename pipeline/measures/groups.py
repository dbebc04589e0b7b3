"""The columns a figure may be grouped by, and where each one is found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import WrongUseError
from pipeline.measures.people import allow

# Columns of tables.jobs (alias j). Names on the left are those of the standard log.
JOB_COLUMNS: dict[str, str] = {
    "source": "j.source",
    "job_kind": "j.job_kind",
    "unit_type": "j.unit_type",
    "make": "j.make",
    "model": "j.model",
    "fitting": "j.fitting",
    "site_kind": "j.site_kind",
    "postcode": "j.area",
    "symptom": "j.symptom",
    # A code means another thing on another family of machines.
    "fault_code": "coalesce(j.make || ' ', '') || coalesce(j.unit_type, '') || ': ' || j.fault_code",
    "payer": "j.payer",
    "outcome": "j.outcome",
    "second_visit_reason": "j.second_visit_reason",
    "return_reason": "j.return_reason",
    "currency": "j.currency",
}
# Not a column of the log: tables.part_groups says what it is.
FUNCTION_GROUP = "function_group"
# Columns of the work done (alias p); a job stands in the row of each part it worked on.
WORK_COLUMNS: dict[str, str] = {
    "part_no": "p.part_no",
    "part_name": "p.part_name",
    # Parts that do the same work, whatever their number.
    FUNCTION_GROUP: f"p.{FUNCTION_GROUP}",
    "action": "p.action",
    "mechanism": "p.mechanism",
    "part_source": "p.part_source",
}
PEOPLE_COLUMNS: dict[str, str] = {"technician": "j.technician"}
# What the visit that ended the job says was done (alias last); empty where nothing is recorded.
VISIT_COLUMNS: dict[str, str] = {
    name: f"case when last.{name} then 'yes' when not last.{name} then 'no' end"
    for name in ("installation_looked_at", "test_run", "leak_check", "safety_test")
}
# What a machine is known by, for figures that count machines and not jobs.
MACHINE_COLUMNS: dict[str, str] = {"unit_type": "e.unit_type", "make": "e.make", "model": "e.model"}

# Whole years of age: lower limit, upper limit, label. Common practice, no source.
AGE_BANDS: tuple[tuple[int, int, str], ...] = (
    (0, 2, "0 to 2 years"),
    (2, 5, "2 to 5 years"),
    (5, 10, "5 to 10 years"),
    (10, 15, "10 to 15 years"),
    (15, 200, "15 years and over"),
)


@dataclass(frozen=True)
class Grouping:
    """Group columns of a query over jobs: names, SQL expressions, whether the work done or the last visit is joined."""

    names: tuple[str, ...]
    expressions: tuple[str, ...]
    needs_work: bool
    needs_last_visit: bool = False
    only: tuple[str, ...] = ()

    @property
    def only_these(self) -> str:
        """` and expression = $only_name` for each group of which one value is asked for; `only_values` has the values."""
        return "".join(
            f" and {expression} = $only_{name}"
            for expression, name in zip(self.expressions, self.names, strict=True)
            if name in self.only
        )

    @property
    def select(self) -> str:
        """`expression as name, ` for each group, ready to stand before other columns."""
        return "".join(
            f"{expression} as {name}, " for expression, name in zip(self.expressions, self.names, strict=True)
        )

    @property
    def work_join(self) -> str:
        """The join with the work done and with the visit that ended the job, where a group asks for them."""
        joins = []
        if self.needs_work:
            columns = ", ".join(name for name in WORK_COLUMNS if name in self.names)
            joins.append(f"join (select distinct job_no, {columns} from work) as p on p.job_no = j.job_no")
        return " ".join([*joins, self.visit_join])

    @property
    def visit_join(self) -> str:
        """The join with the visit that ended the job, where a group asks for it."""
        if not self.needs_last_visit:
            return ""
        return (
            "left join tables.visits as last on last.job_no = j.job_no and last.visit_no = j.last_attended_no"
        )


# One row per job, part and action, with the part written as the parts list writes it.
WORK = """
work as (
    select works.job_no, works.part_key, parts.part_no, parts.part_name, part_groups.function_group, works.action,
        works.part_source, failed.mechanism
    from facts.part_works as works
    left join tables.part_groups as part_groups on part_groups.part_key = works.part_key
    left join facts.part_mechanisms as failed on failed.job_no = works.job_no and failed.part_key = works.part_key
    left join tables.parts as parts on parts.part_key = works.part_key
)
"""


def only_values(only: tuple[tuple[str, str], ...]) -> dict[str, str]:
    """What `Grouping.only_these` is bound to."""
    return {f"only_{name}": value for name, value in only}


def job_grouping(
    by: tuple[str, ...],
    *,
    dated: str,
    people: bool,
    allowed: tuple[str, ...] | None = None,
    only: tuple[tuple[str, str], ...] = (),
) -> Grouping:
    """
    Read `--by` for a figure that counts jobs.

    Parameters
    ----------
    by : tuple of str
        Names as asked; a part number brings its name along.
    dated : str
        SQL column of tables.jobs (alias j) that `month` is taken from.
    people : bool
        Whether figures about people were asked for.
    allowed : tuple of str or None
        The measure's own list; None allows every column.
    only : tuple of (str, str)
        Groups of which only one value is asked for.

    Raises
    ------
    WrongUseError
        If a group is not known here, or one of `only` is no group.
    """
    known = {
        **JOB_COLUMNS,
        **WORK_COLUMNS,
        **VISIT_COLUMNS,
        **PEOPLE_COLUMNS,
        "month": f"strftime({dated}, '%Y-%m')",
        "age_band": age_band("j.age_years"),
    }
    names = _with_part_name(by)
    for name in names:
        check_group(name, tuple(known) if allowed is None else allowed, people=people)
    for name, _ in only:
        check_group(name, names, people=people)
    return Grouping(
        names,
        tuple(known[name] for name in names),
        needs_work=any(name in WORK_COLUMNS for name in names),
        needs_last_visit=any(name in VISIT_COLUMNS for name in names),
        only=tuple(name for name, _ in only),
    )


def check_group(name: str, allowed: tuple[str, ...], *, people: bool) -> None:
    """Refuse a group that the measure does not have, or that is about people and was not asked for as such."""
    if name in PEOPLE_COLUMNS:
        allow(people=people)
    if name not in allowed:
        raise WrongUseError(f'--by cannot be "{name}" here; it can be {", ".join(allowed)}.')


def age_band(years: str) -> str:
    """SQL for the age band of an age in years."""
    whens = " ".join(f"when {years} < {high} then '{label}'" for _, high, label in AGE_BANDS)
    return f"case when {years} is null or {years} < 0 then null {whens} end"


def _with_part_name(by: tuple[str, ...]) -> tuple[str, ...]:
    if "part_no" not in by or "part_name" in by:
        return by
    at = by.index("part_no") + 1
    return (*by[:at], "part_name", *by[at:])


def fullest(records: pl.DataFrame, names: tuple[str, ...], most: int | None) -> pl.DataFrame:
    """
    Without the records of the groups that have fewest.

    Parameters
    ----------
    records : DataFrame
        With the group columns `names`.
    names : tuple of str
        Group columns.
    most : int or None
        Groups of each kind of machine that stay, those with most records; all where it is None.

    Returns
    -------
    DataFrame
        In the order it came in.
    """
    if most is None or not names:
        return records
    sizes = records.group_by(names, maintain_order=True).len()
    kind = "unit_type" if "unit_type" in names else pl.lit(0)
    kept = sizes.filter(pl.col("len").rank("ordinal", descending=True).over(kind) <= most)
    return records.join(kept, on=list(names), how="semi", nulls_equal=True, maintain_order="left")


def positions(
    records: pl.DataFrame, names: tuple[str, ...]
) -> tuple[list[dict[str, Any]], NDArray[np.int64]]:
    """
    The distinct groups of a frame of records, and for each record the place of its group among them.

    Without group columns there is one group, and it has no name.
    """
    if not names:
        return [{}], np.zeros(records.height, dtype=np.int64)
    keys = records.select(names).unique(maintain_order=True)
    numbered = keys.with_row_index("at")
    joined = records.select(names).join(
        numbered, on=list(names), how="left", nulls_equal=True, maintain_order="left"
    )
    return keys.to_dicts(), joined["at"].to_numpy().astype(np.int64)
