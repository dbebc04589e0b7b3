"""Small invented firms whose every chance is known: 300 machines, models that differ, machines that differ, fixes that may not hold."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

MACHINES, YEARS, RATE = 300, 3, 1.6
FRAILTY = 0.5  # variance between machines of the rate of breakdowns
MODELS = 4  # of each kind
LIKENESS = 20.0  # of a model's chances to its kind's: the greater, the more alike
MODEL_KNOWN = 0.7
START = date(2023, 1, 1)
OUTSIDE = "outside: "

# By kind and symptom: what may be wrong.
FAULTS = {
    "dishwasher": {
        "not draining": ["drain pump", "drain filter", "outside: drain hose kinked"],
        "not filling": ["flow meter", "inlet valve", "outside: tap part closed"],
        "not heating": ["heating element", "thermal cut-out", "control board"],
        "leaks": ["door seal", "circulation pump", "inlet hose"],
    },
    "washer": {
        "not turning": ["carbon brushes", "belt", "drive motor"],
        "not draining": ["drain pump", "drain hose", "pressure switch"],
        "noisy": ["bearings", "shock absorbers", "belt"],
        "not heating": ["heating element", "temperature sensor", "control board"],
    },
    "coffee machine": {
        "not heating": ["heating element", "thermostat", "control board"],
        "leaks": ["group gasket", "solenoid valve", "water pump"],
        "low pressure": ["brew pump", "flow meter", "outside: water pressure too low"],
    },
}
# Of a part that can be cleaned: how often it is, and how often that holds 90 days; a new part holds more often.
CLEANED = {
    "drain pump": 0.4,
    "flow meter": 0.4,
    "inlet valve": 0.3,
    "solenoid valve": 0.4,
    "drain filter": 0.9,
}
HOLDS_CLEANED, HOLDS_REPLACED = 0.75, 0.97
CORRECTED = "correct installation"

Fix = tuple[str, str]


@dataclass(frozen=True)
class Firm:
    """
    One firm.

    Attributes
    ----------
    text : str
        Its log, drawn.
    chance : dict
        By kind, model (None: not known) and symptom: chance of each fault.
    """

    text: str
    chance: dict[tuple[str, str | None, str], NDArray[np.float64]]

    def held(self, kind: str, model: str | None, symptom: str) -> dict[Fix, float]:
        """Chance of each fix among those that held: the first time, or a new part when it was back."""
        found: dict[Fix, float] = {}
        for fault, p in zip(FAULTS[kind][symptom], self.chance[kind, model, symptom], strict=True):
            for action, share, holds in ways(fault):
                last = CORRECTED if fault.startswith(OUTSIDE) else "replace"
                for done, part in ((action, share * holds), (last, share * (1.0 - holds))):
                    found[fault, done] = found.get((fault, done), 0.0) + float(p) * part
        return found


def ways(fault: str) -> list[tuple[str, float, float]]:
    """What is done about a fault at first: action, how often, how often it holds."""
    if fault.startswith(OUTSIDE):
        return [(CORRECTED, 1.0, HOLDS_REPLACED)]
    cleaned = CLEANED.get(fault, 0.0)
    return [
        each
        for each in (("clean", cleaned, HOLDS_CLEANED), ("replace", 1.0 - cleaned, HOLDS_REPLACED))
        if each[1]
    ]


def firm(seed: int) -> Firm:
    """Draw a firm: its truth, its machines, its jobs."""
    rng = np.random.default_rng(seed)
    chance: dict[tuple[str, str | None, str], NDArray[np.float64]] = {}
    weights = {
        kind: {name: rng.dirichlet(np.full(len(some), 3.0)) for name, some in faults.items()}
        for kind, faults in FAULTS.items()
    }
    for kind, symptoms in weights.items():
        for symptom, base in symptoms.items():
            of_models = rng.dirichlet(LIKENESS * base + 0.05, MODELS)
            for number in range(MODELS):
                chance[kind, f"{kind[0].upper()}{number}", symptom] = of_models[number]
            # Models are sold equally often, so the kind is their mean.
            chance[kind, None, symptom] = of_models.mean(axis=0)
    return Firm(_log(rng, chance), chance)


def _log(rng: np.random.Generator, chance: dict[tuple[str, str | None, str], NDArray[np.float64]]) -> str:
    kinds = list(FAULTS)
    lines = [
        "job_id | unit_id | unit_type | model | symptom | reported_at | finished_at | part_no | part_name | action | finding | outcome"
    ]
    jobs: list[tuple[int, str]] = []
    for machine in range(MACHINES):
        kind = kinds[machine % len(kinds)]
        model = f"{kind[0].upper()}{(machine // len(kinds)) % MODELS}"
        for _ in range(rng.poisson(RATE * YEARS * rng.gamma(1.0 / FRAILTY, FRAILTY))):
            day = float(rng.uniform(0, 365 * YEARS))
            symptom = str(rng.choice(list(FAULTS[kind])))
            fault = str(rng.choice(FAULTS[kind][symptom], p=chance[kind, model, symptom]))
            jobs += _until_it_holds(rng, (machine, kind, model, symptom, fault), day)
    for number, (_, line) in enumerate(sorted(jobs), start=1):
        lines.append(f"J{number} | {line}")
    return "\n".join(lines)


def _until_it_holds(
    rng: np.random.Generator, case: tuple[int, str, str, str, str], day: float
) -> list[tuple[int, str]]:
    machine, kind, model, symptom, fault = case
    shown = model if rng.random() < MODEL_KNOWN else ""
    choices = ways(fault)
    action, _, holds = choices[int(rng.choice(len(choices), p=[share for _, share, _ in choices]))]
    found = []
    while day < 365 * YEARS:
        on = START + timedelta(days=int(day))
        part, finding = ("", fault.removeprefix(OUTSIDE)) if fault.startswith(OUTSIDE) else (fault, "")
        found.append(
            (
                int(day),
                f"M{machine} | {kind} | {shown} | {symptom} | {on} | {on} | {part.upper().replace(' ', '-')} | {part} | {action} | {finding} | fixed",
            )
        )
        if rng.random() < holds:
            break
        # Back within 90 days: a new part this time.
        day += float(rng.uniform(3, 85))
        action = CORRECTED if fault.startswith(OUTSIDE) else "replace"
        holds = HOLDS_REPLACED
    return found
