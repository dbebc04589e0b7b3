"""Why a row is set aside: one column, one reason, the shape of what stood there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


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
    reason_sql, shape_sql : str
        SQL for the reason where the row brings its own, and for the shape of the cell; empty for none.
    """

    column: str
    reason: str
    failed: str
    reason_sql: str = ""
    shape_sql: str = ""


def first_problem(checks: Sequence[Check]) -> str:
    """SQL for the first check that fails, as a struct of column_name, reason, shape; null when the row is usable."""
    whens = "\n        ".join(f"when {check.failed} then {_problem(check)}" for check in checks)
    return f"case\n        {whens}\n    end"


def _problem(check: Check) -> str:
    reason = check.reason_sql or f"'{check.reason}'"
    return f"{{'column_name': '{check.column or 'row'}', 'reason': {reason}, 'shape': {check.shape_sql or 'cast(null as varchar)'}}}"
