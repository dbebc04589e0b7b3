"""
The usual cautions of the trade, by kind of machine, by part and by what is done, in one place. They are pinned: above the
answer, never re-ordered, never hidden.

Sources: usual cautions, common practice without a source. Stored charge: US Consumer Product Safety Commission, document
5061, and NIOSH FACE 94MD038 (a repairer killed at a live microwave oven). Gas: Gas Safety (Installation and Use) Regulations
1998, regulation 3; elsewhere the national licence. Refrigerant: 40 CFR 82 subpart F; Regulation (EU) 2024/573, Article 10.
Lint in dryers: US Fire Administration, clothes dryer fires 2008-2010.
"""

from __future__ import annotations

from collections.abc import Iterable

GENERAL = (
    "Isolate the electricity and prove it dead, turn water and gas off, let it cool. Gas, sealed refrigeration, microwave ovens "
    "and fixed wiring are for people licensed for them. Competent people only; local codes come first."
)
FIRST = (
    "Isolate the electricity and prove it dead; let it cool. Competent people only; local codes come first."
)
WATER = "Water off, and drained first. Sharp panels; broken glass in sumps."
SEALED = "Refrigerant circuit stays closed: certified people only. It may be flammable: no flame, no sparks, air the room."
GAS = "Gas: only people licensed for it. Smell of gas: no switch, gas off, air, out."
MONOXIDE = "Carbon monoxide has no smell: an alarm, a headache, a yellow or sooty flame mean off, air, out."
CHARGE = "A microwave oven holds a charge that can kill when unplugged. No test under voltage, no work with the cover off: refer it."
STEAM = "Steam under pressure: cool, pressure off; boiler and safety valve are for people licensed for them."
MOVING = "Fans, belts and drums start by themselves: prove it dead first."
LIFT = "Heavy: two people lift it."
TIP = "It can tip over: doors shut, drawers in, unstacked by two; its bracket goes back."
SPRINGS = "Door springs and hinges snap: unloaded before the door comes off."
DUCT = "Lint burns: look at the vent duct on every visit. A gas dryer is gas work."
HEAT_PUMP = "Heat-pump dryer: refrigerant, perhaps flammable; its circuit stays closed."
STORED = (
    "Motor capacitors and inverter boards hold a charge after unplugging: discharged, and proved gone, first."
)
INDUCTION = "Induction hob: its capacitors stay charged; pacemakers keep away. Broken glass cuts."
THREE_PHASE = "Three phases or hard-wired: isolator locked off and tagged, every phase proved dead."
CAUSTIC = "Detergent and descaler burn: gloves, eyes covered; never mixed."
BLADES = "Blades and grinders: no hands inside until it is proved dead."
FOUL = "Foul water: gloves, cuts covered, hands washed."
MAGNETS = "Strong magnets: pacemakers, cards and bare electronics keep away."
BYPASS = "Never bridge a cut-out, a door lock or a fuse. A cut-out that went has a cause: find it."
SHARP = "Tools, not fingers, into pumps and sumps."
INSTALLING = "Gas, fixed wiring, water mains: whoever the local code lets."
ALONE = "Alone on site: somebody knows where you are. Not safe: leave."
AFTER = "After the work: leak check, test run; safety test where the mains side was touched."

# Beginnings of words in the name of a kind of machine, and what they call for. All that fit are shown, in this order.
BY_KIND: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("microwave",), (CHARGE, MAGNETS)),
    (("oven", "hob", "range", "cooker", "gas", "boiler", "heater"), (GAS, MONOXIDE)),
    (("hob", "induction"), (INDUCTION,)),
    (("fridge", "freezer", "ice", "cool", "cold", "heat pump", "air condition", "dehumidifier"), (SEALED,)),
    (("coffee", "espresso", "steam", "boiler"), (STEAM,)),
    (
        (
            "glass",
            "ice",
            "coffee",
            "espresso",
            "commercial",
            "laundry",
            "hood dish",
            "combi",
            "range",
            "oven",
            "hob",
        ),
        (THREE_PHASE,),
    ),
    (("dryer", "drier"), (DUCT, HEAT_PUMP, MOVING)),
    (("washer", "washing"), (WATER, MOVING)),
    (("dish", "glass", "disposer", "water softener", "softener", "ice", "coffee", "espresso"), (WATER,)),
    (("dish", "glass", "ice", "coffee", "espresso"), (CAUSTIC,)),
    (
        (
            "washer",
            "washing",
            "dish",
            "glass",
            "dryer",
            "drier",
            "fridge",
            "freezer",
            "ice",
            "cooker hood",
            "heat pump",
        ),
        (STORED,),
    ),
    (("washer", "washing"), (MAGNETS,)),
    (("oven", "range", "cooker", "dish"), (SPRINGS,)),
    (
        (
            "washer",
            "washing",
            "dryer",
            "drier",
            "fridge",
            "freezer",
            "ice",
            "range",
            "cooker",
            "glass",
            "oven",
            "coffee",
        ),
        (LIFT,),
    ),
    (("washer", "washing", "dryer", "drier", "fridge", "freezer", "range", "cooker", "dish"), (TIP,)),
    (("disposer", "coffee", "espresso", "cooker hood", "food processor", "mixer", "blender"), (BLADES,)),
    (("vacuum", "power tool", "sewing", "food processor", "mixer", "fan"), (MOVING, STORED)),
    (
        ("kettle", "iron", "toaster", "lamp", "radio", "hi fi", "tv", "television", "laptop", "small"),
        (STORED,),
    ),
    (("washer", "washing", "dish", "glass", "disposer"), (FOUL,)),
)
EVERYTHING = (WATER, GAS, MONOXIDE, SEALED, CHARGE, STEAM, THREE_PHASE, STORED, TIP, LIFT)

# Words in the names of parts that may be it.
BY_PART: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("gas", "burner", "thermocouple", "flame"), (GAS, MONOXIDE)),
    (("compressor", "evaporator", "condenser", "refrigerant", "sealed system", "expansion valve"), (SEALED,)),
    (("boiler", "safety valve", "relief valve", "steam"), (STEAM,)),
    (("capacitor", "motor", "compressor", "pump", "inverter", "board", "module"), (STORED,)),
    (("motor", "magnetron", "rotor"), (MAGNETS,)),
    (("spring", "hinge"), (SPRINGS,)),
    (
        ("cut out", "cutout", "thermal fuse", "thermostat", "interlock", "door lock", "door switch", "fuse"),
        (BYPASS,),
    ),
    (("blade", "grinder", "burr"), (BLADES,)),
    (("belt", "drum", "fan", "bearing"), (MOVING,)),
    (("filter", "sump", "drain", "pump"), (SHARP,)),
)
BY_ACTION = {
    "clear blockage": (SHARP, FOUL),
    "free": (SHARP,),
    "clean": (CAUSTIC,),
    "descale": (CAUSTIC,),
    "correct installation": (INSTALLING,),
    "reset": (BYPASS,),
}

# What is said in place of a likely part where a danger is reported; by the dangers of `safety.toml`.
STOP = {
    "shock": "Somebody got a shock or a tingle. Make safe and stop: switch off at the supply, nobody touches the machine.",
    "smoke": "Smoke. Make safe and stop: switch off at the supply, look for fire first.",
    "fire": "Fire, flames or sparks. Make safe and stop: everybody out, the fire brigade where it burns.",
    "gas": "Smell of gas. Make safe and stop: no switch, no flame, gas off, air the room, get out, call the gas emergency line.",
    "flood": "Flood. Make safe and stop: water off, electricity off before you step into water.",
    "burning smell": "Smell of burning. Make safe and stop: switch off at the supply and leave it off.",
}
# Before anybody leaves.
AFTER_WORK = (
    "Leak check: every joint that was opened, under water pressure.",
    "Test run: a whole programme, or as much as shows that the fault is gone.",
    "After work on the mains side: earth continuity and insulation tested as the local code asks, by whoever may.",
    "Panels, earths and guards back where they were. Tell the customer what was found and done.",
)
AFTER_STOP = "No likely part is shown for this. It is for people licensed for it, and the machine stays off until they have found the cause."


def for_work(kind: str, parts: Iterable[str] = (), actions: Iterable[str] = ()) -> list[str]:
    """
    Cautions for a kind of machine, for parts that may be worked on and for what may be done, in the order they are shown.

    Parameters
    ----------
    kind : str
        Empty or unknown: the cautions of every kind.
    parts, actions : iterables of str
        Names of parts; actions of the standard log.
    """
    found = _fitting(BY_KIND, kind) or list(EVERYTHING)
    for part in parts:
        found += _fitting(BY_PART, part)
    for action in actions:
        found += BY_ACTION.get(action, ())
    return [FIRST, *dict.fromkeys(found), ALONE, AFTER]


def _fitting(table: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...], said: str) -> list[str]:
    # A glass washer has no drum.
    name = " " + said.casefold().replace("-", " ").replace("glass washer", "glasswasher")
    return [text for words, texts in table if any(f" {word}" in name for word in words) for text in texts]


def stop_words(dangers: str) -> list[str]:
    """What to do at once, for dangers joined as `dangers_of` joins them."""
    return [STOP[danger] for danger in dangers.split("; ")]
