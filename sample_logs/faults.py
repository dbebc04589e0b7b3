"""How each part of each type of machine fails, and what outside causes look like a failed part: planted numbers.

Rates are per machine-year. A fault follows a Weibull hazard in the time since the part was last renewed:
`shape` 1 is a constant hazard of 1 / `scale_years`; above 1 the part wears out. A relapse (the same fault again,
because the fix did not hold) happens with probability `relapse`, after an exponential time of mean `mean_days`,
so that a share `relapse * (1 - exp(-D / mean_days))` is back within D days, other events aside.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fix:
    """One way to deal with a fault: how often it is chosen, how it holds, how long it takes."""

    action: str
    share: float
    relapse: float
    mean_days: float
    median_min: float
    cures_nothing: bool = False  # done to a part that was not the trouble, or not in that way


@dataclass(frozen=True)
class Mode:
    """How a part fails."""

    mechanism: str
    finding: str
    share: float
    fixes: tuple[Fix, ...]


@dataclass(frozen=True)
class Fault:
    """A part of a type of machine that can fail."""

    unit_type: str
    part_no: str
    scale_years: float
    shape: float
    symptoms: tuple[tuple[str, float], ...]
    modes: tuple[Mode, ...]
    missing: float = 0.15  # a replacement waits for the part
    declined: float = 0.02
    beyond: float = 0.0
    wrong: tuple[str, float] = ("", 0.0)  # the part that is blamed instead, and how often


@dataclass(frozen=True)
class OutsideCause:
    """Something outside the machine that looks like a failed part until it is put right."""

    unit_type: str
    finding: str
    cause: str
    action: str
    share_of_machines: float
    rate: float  # reported faults per year while it is there
    symptoms: tuple[tuple[str, float], ...]
    mimics: str
    mimic_action: str
    only_cause: float  # put right alone
    both: float  # put right, and the part worked on in the same visit; the rest: the part alone
    check: tuple[str, str]
    relapse: float = 0.85  # after work on the part alone
    mean_days: float = 25.0


def _swap(median_min: float, relapse: float = 0.04, mean_days: float = 40.0, share: float = 1.0) -> Fix:
    return Fix("replace", share, relapse, mean_days, median_min)


def _worn(median_min: float, finding: str = "worn", relapse: float = 0.04) -> tuple[Mode, ...]:
    return (Mode("worn", finding, 1.0, (_swap(median_min, relapse),)),)


def _dead(median_min: float, finding: str, relapse: float = 0.04) -> tuple[Mode, ...]:
    return (Mode("electrical", finding, 1.0, (_swap(median_min, relapse),)),)


def _wheel(free_min: float, swap_min: float) -> tuple[Mode, ...]:
    """A flow meter: freeing helps a stuck wheel for a while, and cures nothing where the wheel was free."""
    stuck = (Fix("free", 0.62, 0.34, 38.0, free_min), _swap(swap_min, 0.03, 40.0, 0.38))
    free_anyway = Fix("free", 0.40, 0.90, 6.0, free_min, cures_nothing=True)
    return (
        Mode("stuck", "wheel stuck", 0.72, stuck),
        Mode(
            "electrical",
            "wheel turns freely but gives no pulses",
            0.28,
            (free_anyway, _swap(swap_min, 0.03, 40.0, 0.60)),
        ),
    )


def _pump(clean_min: float, swap_min: float, clean_share: float) -> tuple[Mode, ...]:
    """A drain pump: cleaned when something is caught in it, replaced when worn."""
    blocked = (Fix("clean", 0.85, 0.20, 30.0, clean_min), _swap(swap_min, 0.03, 40.0, 0.15))
    return (
        Mode("blocked", "debris in the pump", clean_share, blocked),
        Mode("worn", "pump worn", 1.0 - clean_share, (_swap(swap_min, 0.03, 40.0),)),
    )


def _scaled(clean_min: float, swap_min: float, relapse: float) -> tuple[Mode, ...]:
    scale = (Fix("clean", 0.70, relapse, 35.0, clean_min), _swap(swap_min, 0.03, 40.0, 0.30))
    return (Mode("blocked", "scaled up", 1.0, scale),)


FAULTS: tuple[Fault, ...] = (
    Fault("dishwasher", "FM-2041", 1 / 0.12, 1.0, (("not filling", 0.75), ("stops mid-cycle", 0.25)),
          _wheel(28, 36)),
    Fault("dishwasher", "DP-1107", 1 / 0.07, 1.0, (("not draining", 0.6), ("water left in bottom", 0.4)),
          _pump(26, 38, 0.5)),
    Fault("dishwasher", "CP-5510", 17.0, 2.0, (("not washing", 0.8), ("leaks", 0.2)), _worn(62, "pump worn"),
          missing=0.45, declined=0.08, beyond=0.04),
    Fault("dishwasher", "HE-7203", 1 / 0.035, 1.0, (("not heating", 0.96), ("burning smell", 0.04)),
          _dead(46, "heater open circuit"), missing=0.25, wrong=("CB-9001", 0.12)),
    Fault("dishwasher", "IV-3302", 1 / 0.035, 1.0, (("not filling", 0.6), ("overfills", 0.4)),
          _dead(34, "valve coil open circuit"), wrong=("FM-2041", 0.12)),
    Fault("dishwasher", "DS-6120", 14.0, 2.5, (("leaks", 1.0),), _worn(30, "seal worn"), missing=0.3),
    Fault("dishwasher", "CB-9001", 1 / 0.022, 1.0, (("dead", 0.6), ("stops mid-cycle", 0.4)),
          _dead(52, "board failed"), missing=0.6, declined=0.12, beyond=0.05),
    Fault("dishwasher", "DL-4415", 1 / 0.03, 1.0, (("will not start", 0.97), ("tingle from machine", 0.03)),
          _worn(27, "catch worn")),
    Fault("dishwasher", "FI-1001", 1 / 0.04, 1.0, (("poor result", 0.6), ("smell", 0.4)),
          (Mode("blocked", "filter blocked", 1.0, (Fix("clean", 1.0, 0.10, 45.0, 18),)),)),
    Fault("washer", "DP-1107", 1 / 0.12, 1.0, (("not draining", 0.8), ("not spinning", 0.2)), _pump(30, 44, 0.72)),
    Fault("washer", "BR-8810", 9.5, 2.3, (("not turning", 0.75), ("not spinning", 0.25)),
          _worn(48, "brushes worn")),
    Fault("washer", "DL-4420", 1 / 0.055, 1.0, (("will not start", 0.6), ("door will not open", 0.4)),
          _dead(31, "lock does not close the circuit")),
    Fault("washer", "BE-7730", 15.0, 3.0, (("noisy", 0.9), ("leaks", 0.1)), _worn(150, "bearings worn"),
          missing=0.6, declined=0.25, beyond=0.25),
    Fault("washer", "IV-3302", 1 / 0.035, 1.0, (("not filling", 1.0),), _dead(33, "valve coil open circuit")),
    Fault("washer", "HE-7210", 1 / 0.04, 1.0, (("not heating", 0.97), ("burning smell", 0.03)),
          _dead(45, "heater open circuit"), missing=0.2, wrong=("CB-9002", 0.12)),
    Fault("washer", "SA-5125", 15.0, 2.0, (("noisy", 0.4), ("vibrates", 0.6)), _worn(55, "no damping left"),
          missing=0.35),
    Fault("washer", "CB-9002", 1 / 0.02, 1.0, (("dead", 0.7), ("stops mid-cycle", 0.3)),
          _dead(50, "board failed"), missing=0.6, declined=0.12, beyond=0.05),
    # The weak procedure: the belt is fitted and the tensioner is not looked at.
    Fault("dryer", "BT-3315", 8.0, 1.8, (("not turning", 1.0),), _worn(50, "belt broken", relapse=0.42)),
    Fault("dryer", "TC-2230", 1 / 0.045, 1.0, (("not heating", 1.0),), _dead(35, "cut-out open circuit")),
    Fault("dryer", "HE-7305", 1 / 0.055, 1.0, (("not heating", 0.97), ("burning smell", 0.03)),
          _dead(54, "heater open circuit"), missing=0.25, wrong=("TC-2230", 0.15)),
    Fault("dryer", "RO-5140", 11.0, 2.0, (("noisy", 1.0),), _worn(58, "rollers worn"), missing=0.25),
    Fault("dryer", "DS-4408", 1 / 0.03, 1.0, (("will not start", 1.0),), _dead(29, "switch does not close")),
    Fault("fridge-freezer", "DG-6210", 12.0, 2.0, (("not cooling", 0.5), ("icing up", 0.5)),
          _worn(32, "gasket split"), missing=0.7),
    Fault("fridge-freezer", "FN-4820", 1 / 0.05, 1.0, (("noisy", 0.5), ("not cooling", 0.5)), _worn(42, "fan seized"),
          missing=0.35),
    Fault("fridge-freezer", "DF-7410", 1 / 0.05, 1.0, (("icing up", 0.7), ("not cooling", 0.3)),
          _dead(58, "heater open circuit"), missing=0.35, wrong=("TS-2215", 0.15)),
    Fault("fridge-freezer", "TS-2215", 1 / 0.045, 1.0, (("not cooling", 0.6), ("too cold", 0.4)),
          _dead(36, "sensor reads wrong")),
    Fault("fridge-freezer", "SR-1120", 1 / 0.03, 1.0, (("not cooling", 1.0),), _dead(30, "relay burnt")),
    # The sealed system is sent on to a certified firm: no part is worked on.
    Fault("fridge-freezer", "", 1 / 0.015, 1.0, (("not cooling", 1.0),), ()),
    Fault("glass washer", "RP-5530", 1 / 0.11, 1.0, (("glasses not clean", 0.5), ("not rinsing", 0.5)),
          _worn(48, "pump worn"), missing=0.3),
    Fault("glass washer", "WP-5520", 9.0, 1.6, (("not washing", 1.0),), _worn(64, "pump worn"), missing=0.5,
          declined=0.05, beyond=0.03),
    Fault("glass washer", "DT-8105", 2.4, 3.0, (("glasses not clean", 1.0),), _worn(20, "tube worn flat", relapse=0.03)),
    Fault("glass washer", "HE-7220", 1 / 0.08, 1.0, (("not heating", 1.0),), _dead(44, "heater open circuit"),
          missing=0.25),
    Fault("glass washer", "RJ-1020", 1 / 0.16, 1.0, (("glasses not clean", 0.4), ("not rinsing", 0.6)),
          _scaled(24, 30, 0.25)),
    Fault("glass washer", "DP-1110", 1 / 0.10, 1.0, (("not draining", 1.0),), _pump(28, 41, 0.5)),
    Fault("glass washer", "IV-3302", 1 / 0.05, 1.0, (("not filling", 1.0),), _dead(32, "valve coil open circuit")),
    Fault("ice maker", "IV-3310", 1 / 0.12, 1.0, (("no ice", 1.0),), _dead(38, "valve coil open circuit"), missing=0.3),
    Fault("ice maker", "LP-2260", 1 / 0.28, 1.0, (("no ice", 0.4), ("little ice", 0.6)), _scaled(30, 40, 0.35)),
    Fault("ice maker", "PP-5560", 1 / 0.13, 1.0, (("little ice", 0.5), ("no ice", 0.5)), _worn(50, "pump worn"),
          missing=0.35),
    Fault("ice maker", "FN-4830", 1 / 0.10, 1.0, (("no ice", 0.5), ("noisy", 0.5)), _worn(45, "fan seized"), missing=0.4),
    Fault("ice maker", "CB-9006", 1 / 0.04, 1.0, (("dead", 1.0),), _dead(52, "board failed"), missing=0.6,
          declined=0.1),
    Fault("coffee machine", "GS-6330", 1.9, 3.0, (("leak from the group", 1.0),), _worn(18, "seal worn", relapse=0.03),
          missing=0.05),
    Fault("coffee machine", "BP-5570", 1 / 0.09, 1.0, (("low pressure", 0.7), ("noisy", 0.3)), _worn(52, "pump worn"),
          missing=0.35),
    Fault("coffee machine", "FM-2048", 1 / 0.18, 1.0, (("wrong amount in the cup", 1.0),), _wheel(26, 34)),
    Fault("coffee machine", "SV-3340", 1 / 0.12, 1.0, (("leaks", 0.6), ("low pressure", 0.4)),
          (Mode("stuck", "valve stuck with scale", 1.0, (Fix("clean", 0.5, 0.28, 35.0, 32), _swap(38, 0.03, 40.0, 0.5))),)),
    Fault("coffee machine", "HE-7240", 1 / 0.06, 1.0, (("not heating", 1.0),), _dead(56, "heater open circuit"), missing=0.4),
    Fault("coffee machine", "GB-8850", 3.2, 3.0, (("coarse coffee", 1.0),), _worn(30, "burrs worn"), missing=0.2),
)  # fmt: skip

OUTSIDE_CAUSES: tuple[OutsideCause, ...] = (
    OutsideCause("dishwasher", "drain run without a rise", "installation", "correct installation", 0.16, 0.40,
                 (("not draining", 0.3), ("water left in bottom", 0.55), ("smell", 0.15)),
                 "DP-1107", "replace", 0.45, 0.25, ("look at the drain run", "no rise")),
    OutsideCause("dryer", "vent duct blocked", "installation", "correct installation", 0.20, 0.25,
                 (("not heating", 0.7), ("takes too long", 0.3)), "TC-2230", "replace", 0.45, 0.25,
                 ("look at the vent run", "blocked")),
    OutsideCause("washer", "tap part closed", "installation", "advise", 0.08, 0.20,
                 (("not filling", 1.0),), "IV-3302", "replace", 0.70, 0.10, ("flow at the tap", "weak")),
)  # fmt: skip
