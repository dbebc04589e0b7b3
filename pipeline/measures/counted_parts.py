"""What a figure counts as one part: a part number, or all the numbers of a function group together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import duckdb

from pipeline.measures.groups import FUNCTION_GROUP
from pipeline.measures.query import ask
from pipeline.sql import load_folder

PART_COLUMNS = ("part_no", "part_name")
OF_A_PART = (*PART_COLUMNS, FUNCTION_GROUP)


@dataclass(frozen=True)
class CountedParts:
    """
    Where the facts about parts are read, with one `part_key` a part or a function group.

    Attributes
    ----------
    job_parts, works, off_risk, lives, fits : str
        Tables, or common tables of `before`, of the shape of facts.job_parts, .part_works, .part_off_risk, .part_lives and
        .part_fits.
    names : str
        A query with `part_key` and what a part or group is called: `part_no, part_name, function_group`.
    before : str
        Common tables, to stand behind `with`; empty, or ends in a comma.
    """

    job_parts: str
    works: str
    off_risk: str
    lives: str
    fits: str
    names: str
    before: str = ""


_NAMES = """(
    select parts.part_key, parts.part_no, parts.part_name, part_groups.function_group
    from tables.parts as parts left join tables.part_groups as part_groups on part_groups.part_key = parts.part_key
)"""
BY_NUMBER = CountedParts(
    "facts.job_parts",
    "facts.part_works",
    "facts.part_off_risk",
    "facts.part_lives",
    "facts.part_fits",
    _NAMES,
)
# Lines and fits of parts with a group, each under the name of its group.
_GROUPED = """
grouped_lines as (
    select lines.* replace (part_groups.function_group as part_key)
    from tables.lines as lines join tables.part_groups as part_groups on part_groups.part_key = lines.part_key
),
group_fits as (
    select distinct part_groups.function_group as part_key, fits.unit_type
    from facts.part_fits as fits join tables.part_groups as part_groups on part_groups.part_key = fits.part_key
),
group_names as (
    select distinct function_group as part_key, null::varchar as part_no, null::varchar as part_name, function_group
    from tables.part_groups
),
"""


def counted_parts(names: tuple[str, ...]) -> CountedParts:
    """How parts are counted for these groups: by function group where it is asked for without a number or a name."""
    if FUNCTION_GROUP in names and not set(names) & set(PART_COLUMNS):
        return _by_group()
    return BY_NUMBER


def without_group(con: duckdb.DuckDBPyConnection, names: tuple[str, ...]) -> str:
    """Sentence on the parts that stand in no row because their name makes no group; empty where there is none."""
    if counted_parts(names) is BY_NUMBER:
        return ""
    sql = """
    select count(distinct works.part_key) from facts.job_parts as works
    anti join tables.part_groups as part_groups on part_groups.part_key = works.part_key
    """
    count = ask(con, sql, {}).item()
    parts = "1 part" if count == 1 else f"{count} parts"
    return f"{parts} without a function group left out" if count else ""


@cache
def _by_group() -> CountedParts:
    """The facts of parts, worked out by their own definitions from lines under the name of their group."""
    texts = load_folder("facts")
    before = _GROUPED + _common("group_jobs", texts["job_parts"].replace("tables.lines", "grouped_lines"))
    for name, fact in (
        ("group_works", "part_works"),
        ("group_off", "part_off_risk"),
        ("group_lives", "part_lives"),
    ):
        before += _common(name, texts[fact].replace("facts.job_parts", "group_jobs"))
    return CountedParts(
        "group_jobs", "group_works", "group_off", "group_lives", "group_fits", "group_names", before
    )


def _common(name: str, text: str) -> str:
    return f"{name} as (\n{text}),\n"
