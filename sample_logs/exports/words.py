"""How technicians and offices write the words of the standard log. Every way is one that a reader of the trade knows."""

from __future__ import annotations

import random

KINDS: dict[str, tuple[str, ...]] = {
    "dishwasher": ("Dishwasher", "d/w", "dish washer"),
    "washer": ("Washing machine", "w/m", "washer"),
    "dryer": ("Tumble dryer", "t/d", "dryer"),
    "fridge-freezer": ("Fridge freezer", "f/f"),
    "glass washer": ("Glasswasher", "glass washer"),
    "ice maker": ("Ice machine", "ice maker"),
    "coffee machine": ("Coffee machine", "espresso machine"),
}
SYMPTOMS: dict[str, tuple[str, ...]] = {
    "not filling": ("not filling", "won't fill", "no water"),
    "not draining": ("not draining", "n/d", "Not emptying"),
    "not heating": ("not heating", "no heat", "n/h"),
    "not turning": ("not turning", "drum not turning"),
    "noisy": ("noisy", "loud noise"),
    "leaks": ("leaks", "leaking", "water on floor"),
    "will not start": ("will not start", "won't start"),
    "stops mid-cycle": ("stops mid-cycle", "cuts out"),
    "not cooling": ("not cooling", "not cold"),
    "water left in bottom": ("water left in bottom", "standing water"),
    "not spinning": ("not spinning", "no spin"),
    "dead": ("dead", "no power"),
    "icing up": ("icing up", "iced up"),
    "door will not open": ("door will not open", "door stuck"),
}
ACTIONS: dict[str, str] = {
    "replace": "replaced",
    "clean": "cleaned",
    "free": "freed off",
    "inspect": "looked at",
    "test": "tested",
    "descale": "descaled",
    "advise": "advised customer",
    "correct installation": "installation corrected",
    "reseat": "refitted",
    "make safe": "made safe",
    "refer": "passed on",
}
OUTCOMES: dict[str, tuple[str, ...]] = {
    "fixed": ("repaired", "working", "fixed"),
    "temporary": ("temp repair",),
    "return booked": ("awaiting part", "o/o", "parts ordered"),
    "no fault found": ("NFF", "could not fault"),
    "advised": ("advice only",),
    "quote declined": ("declined",),
    "beyond economic repair": ("BER",),
    "no access": ("no access", "carded"),
    "cancelled": ("cancelled",),
    "referred": ("passed to maker",),
    "made safe": ("made safe",),
    "open": ("booked",),
}
STATES: dict[str, str] = {
    "fitted": "fitted",
    "needed not on van": "not on van",
    "ordered": "on order",
    "taken out again": "not the fault",
    "faulty new": "DOA",
    "": "",
}
PAYERS: dict[str, str] = {
    "customer": "private",
    "maker warranty": "warranty",
    "insurer": "insurance",
    "own guarantee": "our guarantee",
    "goodwill": "FOC",
    "": "",
}
# Sold in pairs or sets of two: the standard log counts a set as one.
IN_PAIRS = frozenset({"BR-8810", "SA-5125", "RO-5140"})


def one_of(rng: random.Random, ways: tuple[str, ...]) -> str:
    """One way of writing; the first is the most common."""
    draw = rng.random()
    return ways[0] if draw < 0.5 else ways[int((draw - 0.5) * 2 * len(ways))]


def kind(rng: random.Random, unit_type: str) -> str:
    """Kind of machine as somebody writes it."""
    return one_of(rng, KINDS[unit_type])


def symptom(rng: random.Random, words: str) -> str:
    """Complaint as somebody writes it; one that has no other way stays as it is."""
    return one_of(rng, SYMPTOMS.get(words, (words,)))


def outcome(rng: random.Random, words: str) -> str:
    """Outcome as somebody writes it."""
    return one_of(rng, OUTCOMES[words])
