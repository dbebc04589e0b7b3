"""What a field that is not recorded costs: one sentence each, in the order of what is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

UNKNOWN = ("assumed, several", "none")  # rungs on which nobody can say which machine it was
MOSTLY = 0.9  # a field filled in nine of ten does not hold anything up


@dataclass(frozen=True)
class Cost:
    """A column of the standard log in a user's words, and what is lost without it."""

    words: str
    says: str


FIELDS: dict[str, Cost] = {
    "unit_id": Cost(
        "which machine",
        "Without it (or make and serial, or the site of a household) no machine can be followed: no breakdowns a "
        "year, no repeat visits.",
    ),
    "finished_at": Cost(
        "when it was finished",
        "Without it nobody can say how soon a machine came back, or how long it was down: no repeat visits, no days "
        "without the machine.",
    ),
    "reported_at": Cost(
        "when it was reported",
        "Without it no days without the machine, and a repeat visit cannot be told from a planned one.",
    ),
    "outcome": Cost(
        "how the visit ended",
        "Without it no job counts as fixed: no repeat visits, no time to fix, no fixed share.",
    ),
    "unit_type": Cost(
        "kind of machine", "Without it kinds of machine are mixed, and no figure can be told by kind."
    ),
    "part_no": Cost(
        "which part",
        "Where a part was worked on and not named: no breakdowns by part, no fixes to compare, nothing to carry.",
    ),
    "action": Cost(
        "what was done",
        "Without it freeing or cleaning a part cannot be told from fitting a new one: no fixes to compare.",
    ),
    "symptom": Cost(
        "what the customer sees",
        "Without it the same fault is known by the part alone, and no symptom leads to what usually cures it.",
    ),
    "hands_on_min": Cost(
        "minutes at the machine",
        "Without it no minutes at the machine; booked slots would say how the diary is cut, not how long work takes.",
    ),
    "installed_on": Cost(
        "when the machine was installed",
        "Without it (or a machine list) no ages, and time before the first job is not counted.",
    ),
}


def known_share(rungs: Sequence[dict[str, Any]]) -> float:
    """Share of jobs whose machine is known or may be assumed, by whatever rung; 0 without jobs."""
    jobs = sum(row["jobs"] for row in rungs)
    unknown = sum(row["jobs"] for row in rungs if row["rung"] in UNKNOWN)
    return 1 - unknown / jobs if jobs else 0.0


def is_missed(column: str, share: float, *, known: float, has_machine_list: bool) -> bool:
    """
    Whether a field that is filled in a share costs something.

    A machine that make and serial or the address tell apart needs no number, and a machine list says better when
    machines were installed.
    """
    if (column == "unit_id" and known >= MOSTLY) or (column == "installed_on" and has_machine_list):
        return False
    return share < MOSTLY


def costs(
    completeness: Sequence[dict[str, Any]], rungs: Sequence[dict[str, Any]], *, has_machine_list: bool
) -> list[dict[str, Any]]:
    """
    Fields that figures lean on and that are missing in more than one of ten, with what that costs.

    Parameters
    ----------
    completeness : sequence of dict
        column, counted, filled, of and share, as log-check gives them.
    rungs : sequence of dict
        rung and jobs, as log-check gives them.
    has_machine_list : bool
        Whether a list says when machines were installed.

    Returns
    -------
    list of dict
        column, share and says, in the order of FIELDS.
    """
    shares = {row["column"]: row["share"] for row in completeness}
    known = known_share(rungs)
    return [
        {"column": column, "share": shares[column], "says": cost.says}
        for column, cost in FIELDS.items()
        if shares.get(column) is not None
        and is_missed(column, shares[column], known=known, has_machine_list=has_machine_list)
    ]
