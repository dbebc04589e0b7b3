"""For whoever teaches: which repairs come back, which part it really was, what is missed, skipped, slow, not written down."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import (
    checks,
    fixed,
    holding,
    missed,
    part_lives,
    slow_faults,
    unrecorded,
    wrong_parts,
)


def render() -> None:
    """Draw the page."""
    page_of(
        "What does not hold",
        (holding, wrong_parts, part_lives, missed, checks, slow_faults, unrecorded),
        instead=(fixed,),
        for_trainer=True,
    )
