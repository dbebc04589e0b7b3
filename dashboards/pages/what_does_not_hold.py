"""For whoever teaches: what comes back, what to teach, whether it took, what changed, what is missed, skipped, not written down."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import (
    changed,
    checks,
    fixed,
    holding,
    missed,
    part_lives,
    passed_on,
    reasons,
    slow_faults,
    teach,
    took,
    unrecorded,
    wrong_parts,
)


def render() -> None:
    """Draw the page."""
    page_of(
        "What does not hold",
        (
            *(holding, teach, took, changed, reasons, passed_on),
            *(wrong_parts, part_lives, missed, checks, slow_faults, unrecorded),
        ),
        instead=(fixed,),
        for_trainer=True,
    )
