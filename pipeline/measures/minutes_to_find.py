"""Minutes from arrival until the check that finds it, for what was later seen to be it: how good an order of checks was."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from pipeline.measures.check_order import Step, Weighed, steps_of
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER
from pipeline.vocabulary.check_minutes import CheckTable

_IN_FRONT = ("isolation", "installation")


class MinutesToFind:
    """
    Minutes in one order of checks: isolation, the look at the installation, then parts, each panel counted once.

    Every check is taken to find its fault. What is outside the machine is found by the look; works done together by the first
    of their checks; what no step looks at costs all of them.
    """

    def __init__(
        self,
        chances: Mapping[str, float],
        other: float,
        names: Mapping[str, str],
        table: CheckTable,
        kind: str,
        *,
        most_often_first: bool = False,
    ) -> None:
        """`chances` by part or cause (or set) as `symptom_jobs` keys them, `names` of parts by key."""
        self._names = names
        subjects = [subject for subject in chances if chances[subject] > 0.0]
        rows = [{"part_no": None, "part_name": self._name(subject)} for subject in subjects]
        weights = np.array([*(chances[subject] for subject in subjects), max(other, 1e-9)])
        steps = steps_of(
            Weighed([*rows, {}], subjects, weights), table, kind, most_often_first=most_often_first
        )
        self._at, self._all, self._look = _reached(steps)

    def of(self, subject: str) -> float:
        """Minutes until this part or cause (or one of a set) is found."""
        parts = subject.split(TOGETHER)
        found = [self._look] if any(part.startswith(OUTSIDE) for part in parts) else []
        found += [self._at[name] for name in map(self._name, parts) if name in self._at]
        return min(found, default=self._all)

    def _name(self, subject: str) -> str:
        return TOGETHER.join(
            self._names.get(part, part.removeprefix(OUTSIDE)) for part in subject.split(TOGETHER)
        )


def _reached(steps: tuple[Step, ...]) -> tuple[dict[str, float], float, float]:
    """Minutes until each part is reached, until the end, and until the look outside."""
    at: dict[str, float] = {}
    gone = look = 0.0
    for step in steps:
        gone += step.minutes + step.panel_min
        if step.stage in _IN_FRONT:
            look = gone
        elif step.part_name:
            at.setdefault(step.part_name, gone)
    return at, gone, look
