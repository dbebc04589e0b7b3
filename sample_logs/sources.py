"""What can make a machine be reported next: sources of faults, each a hazard over time.

Times are days since the start of the log. `cumulative` is the expected number of events between two times, and
takes arrays as its second argument; `reach` inverts it, so that an exponential draw becomes a time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sample_logs.faults import Fault, Mode, OutsideCause
from sample_logs.scenario import DAYS_OF_YEAR

# Why the same fault is back: the fix did not hold, it was never the fault, or it was not seen at the visit.
Again = Literal["relapse", "wrong diagnosis", "cured nothing", "not seen", "disturbed by us", "outside"]


@dataclass(frozen=True)
class Ageing:
    """A part that fails by a Weibull hazard since it was last renewed (shape 1: a constant hazard)."""

    fault: Fault
    renewed: float
    factor: float  # of the model, and of the bad lot

    @property
    def _scale_days(self) -> float:
        return self.fault.scale_years * DAYS_OF_YEAR

    def cumulative(self, start: float, end):
        """Expected failures from start to end, at risk all the time."""
        shape, scale = self.fault.shape, self._scale_days
        return self.factor * (
            ((end - self.renewed) / scale) ** shape - ((start - self.renewed) / scale) ** shape
        )

    def reach(self, start: float, amount: float) -> float:
        """Time at which the cumulative hazard since start reaches an amount."""
        shape, scale = self.fault.shape, self._scale_days
        power = ((start - self.renewed) / scale) ** shape + amount / self.factor
        return self.renewed + scale * power ** (1.0 / shape)


@dataclass(frozen=True)
class Returning:
    """The fault of a finished job that comes back with some probability, after an exponential time."""

    target: Fault | OutsideCause
    mode: Mode | None
    why: Again
    symptom: str
    finished: float
    probability: float
    mean_days: float

    def _not_back(self, day):
        since = (day - self.finished) / self.mean_days
        return 1.0 - self.probability * (1.0 - np.exp(-since))

    def cumulative(self, start: float, end):
        """Cumulative hazard of coming back between start and end, given not back at start."""
        return np.log(self._not_back(start)) - np.log(self._not_back(end))

    def reach(self, start: float, amount: float) -> float:
        """Time at which the cumulative hazard since start reaches an amount; infinite if it never does."""
        left = float(self._not_back(start)) * math.exp(-amount)
        if left <= 1.0 - self.probability:
            return math.inf
        return self.finished - self.mean_days * math.log(1.0 - (1.0 - left) / self.probability)


@dataclass(frozen=True)
class Steady:
    """A constant hazard: an outside cause while it is there, a call with nothing wrong, a machine that leaves."""

    per_year: float
    what: OutsideCause | Literal["nothing wrong", "leaves"]

    def cumulative(self, start: float, end):
        """Expected events from start to end."""
        return self.per_year * (end - start) / DAYS_OF_YEAR

    def reach(self, start: float, amount: float) -> float:
        """Time at which the cumulative hazard since start reaches an amount."""
        return start + amount * DAYS_OF_YEAR / self.per_year


Source = Ageing | Returning | Steady
