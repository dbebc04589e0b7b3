"""Why a row is set aside: one column, one reason, the shape of what stood there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pipeline.normalise import typed
from pipeline.standard_log import Column


@dataclass(frozen=True)
class Check:
    """
    One thing that sets a row aside.

    Attributes
    ----------
    column : str
        Column to mend; empty where the whole row is out of joint.
    reason : str
        In plain words.
    failed : str
        SQL condition.
    reason_sql, cell : str
        SQL for the reason where the row brings its own, and for the cell to show the shape of; empty for none.
    also : tuple of (str, str)
        Other columns in which it may be mended just as well, each with the SQL for its cell.
    """

    column: str
    reason: str
    failed: str
    reason_sql: str = ""
    cell: str = ""
    also: tuple[tuple[str, str], ...] = ()


_WHAT = {"moment": "a date or time", "day": "a date", "minutes": "a length of time", "money": "an amount"}


def unreadable(column: Column, cell: str, value: str) -> Check:
    """A cell that is there and cannot be read; it is shown as its shape."""
    reason = f"cannot be read as {_WHAT.get(column.kind, 'a number')}"
    return Check(column.name, reason, f"{cell} is not null and {value} is null", cell=cell)


def first_problem(checks: Sequence[Check]) -> str:
    """SQL for the first check that fails, as a struct of column_name, reason, cell; null when the row is usable."""
    whens = "\n        ".join(f"when {check.failed} then {_problem(check)}" for check in checks)
    return f"case\n        {whens}\n    end"


def all_problems(checks: Sequence[Check]) -> str:
    """SQL for every check that fails, as a list of such structs, null where one holds; null when the row is usable."""
    found = [
        f"case when {check.failed} then {_problem(each)} end" for check in checks for each in _ways(check)
    ]
    return f"case when problem is not null then [{', '.join(found)}] end"


def _ways(check: Check) -> list[Check]:
    return [check, *(replace(check, column=column, cell=cell) for column, cell in check.also)]


def problem_columns() -> str:
    """SQL for the three columns that say why a row is set aside, from the struct `problem`."""
    # The shape is taken once, of the one cell that matters: its patterns are costly to set up.
    shape = typed.shape("problem.cell")
    return (
        f"problem.column_name as problem_column, problem.reason as problem_reason, {shape} as problem_shape"
    )


def _problem(check: Check) -> str:
    reason = check.reason_sql or f"'{check.reason}'"
    cell = check.cell or "cast(null as varchar)"
    return f"{{'column_name': '{check.column or 'row'}', 'reason': {reason}, 'cell': {cell}}}"
