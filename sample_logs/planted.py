"""Planted numbers that are not of one part: outcomes, the bad lot, the technicians, times."""

from __future__ import annotations

# Calls where nothing is wrong with the machine, per machine-year, and how often such a call is repeated.
NOTHING_WRONG_RATE = 0.03
NOTHING_WRONG_SYMPTOMS: dict[str, tuple[str, ...]] = {
    "dishwasher": ("poor result", "smell", "not draining"),
    "washer": ("noisy", "will not start"),
    "dryer": ("takes too long", "noisy"),
    "fridge-freezer": ("not cooling", "noisy"),
    "glass washer": ("glasses not clean",),
    "ice maker": ("little ice",),
    "coffee machine": ("wrong amount in the cup",),
}

# What becomes of a reported fault, before anything is mended.
CANCELLED = 0.03
NO_ACCESS_AND_GIVEN_UP = 0.008
NOT_SEEN_AT_VISIT = 0.035  # a true fault that does not show itself: no fault found
NOT_SEEN_RETURNS = (0.55, 12.0)  # and then comes back: probability, mean days
MADE_SAFE_AND_LEFT = 0.02  # of heater and lock faults: made safe, the customer buys another machine
WRONG_RETURNS = (0.95, 6.0)  # after a wrong diagnosis: probability, mean days
DECLINED_LEAVES = 0.75  # a declined quote is the end of the machine this often

# Two parts worked on in one visit: (machine type, part that failed) -> (part cleaned as well, how often).
DONE_TOGETHER: dict[tuple[str, str], tuple[str, float]] = {
    ("dishwasher", "DP-1107"): ("FI-1001", 0.15),
    ("dishwasher", "FM-2041"): ("IV-3302", 0.06),
    ("glass washer", "RP-5530"): ("RJ-1020", 0.20),
}

# A leaking hose after our own work, per replaced part.
DISTURBED_BY_US = (0.012, 5.0)

# The bad lot: model, part, made weeks (year, week) from and to, factor on the hazard.
BAD_LOT_MODEL = "TD 510"
BAD_LOT_PART = "HE-7203"
BAD_LOT_WEEKS = ((2020, 30), (2020, 39))
BAD_LOT_FACTOR = 9.0
BAD_LOT_MACHINES = 42

# Technicians.
DIFFERENT_TECHNICIAN = "K5"
DIFFERENT_PROCEDURE = ("washer", "DP-1107", "clean")
DIFFERENT_RELAPSE = 0.55  # elsewhere 0.20
SLOW_TECHNICIAN = "K3"
SLOW_FACTOR = 1.5
WASHER_WEIGHT = 2.5  # the same technician gets the washers of the district
OLD_MACHINES_TECHNICIAN = "K7"
OLD_AGE_YEARS = 9.0
OLD_MACHINES_WEIGHT = 6.0

SIGMA_MINUTES = 0.40  # of the log of hands-on minutes, every visit
DIAGNOSIS_MEDIAN_MIN = 20.0  # a visit that ends with a part to wait for, or with nothing found
OUTSIDE_MEDIAN_MIN = 34.0
LEAVES_PER_YEAR = 0.035  # machines that go for reasons of their own
