"""
The usual cautions of the trade, by kind of machine, in one place. They are pinned: never re-ordered, never hidden.

Sources: usual cautions, common practice without a source. Stored charge: US Consumer Product Safety Commission, document
5061, and NIOSH FACE 94MD038 (a repairer killed at a live microwave oven). Gas: Gas Safety (Installation and Use) Regulations
1998, regulation 3; elsewhere the national licence. Refrigerant: 40 CFR 82 subpart F; Regulation (EU) 2024/573, Article 10.
Lint in dryers: US Fire Administration, clothes dryer fires 2008-2010.
"""

from __future__ import annotations

GENERAL = (
    "Isolate the electricity and prove it dead, turn water and gas off, let it cool. Gas, sealed refrigeration, microwave ovens "
    "and fixed wiring are for people licensed for them. Competent people only; local codes come first."
)
FIRST = "Isolate the electricity and prove it dead; let the machine cool. Competent people only; local codes come first."
WATER = "Water off, and drained before anything is opened. Sharp edges on panels, broken glass in sumps."
SEALED = "The refrigerant circuit stays closed: only certified people open it. Flammable charge: no flame, no sparks, air the room."
GAS = "Gas: only people licensed for it open or set anything that carries gas. Smell of gas: no switch, gas off, air, out."
CHARGE = "Holds a charge that can kill when unplugged. No test under voltage, no work with the cover off: refer it."
HEAT = "Boiler under pressure and hot: let it cool and let the pressure off first."
MOVING = "Fans, belts and drums start by themselves: prove it dead first. Lifting takes two."
DUCT = "Lint burns: look at the vent duct on every visit. A gas dryer is gas work."
INVERTER = (
    "Inverter boards hold a charge that can kill after unplugging: wait as the maker says, and prove it gone."
)
CAUSTIC = "Detergent and descaler burn: gloves and eyes covered."
BLADES = "Blades and grinders turn when power comes back: no hands inside until it is proved dead."

# Beginnings of words in the name of a kind of machine, and what they call for. All that fit are shown, in this order.
BY_KIND: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("microwave",), (CHARGE,)),
    (("oven", "hob", "range", "cooker", "gas", "boiler", "heater"), (GAS,)),
    (("hob",), (INVERTER,)),
    (("fridge", "freezer", "ice", "cool", "cold", "heat pump", "air condition", "dehumidifier"), (SEALED,)),
    (("coffee", "espresso"), (HEAT,)),
    (("dryer", "drier"), (DUCT, MOVING)),
    (("washer", "washing"), (WATER, MOVING, INVERTER)),
    (("dish", "glass", "disposer", "water softener", "softener", "ice", "coffee", "espresso"), (WATER,)),
    (("dish", "glass", "ice", "coffee", "espresso"), (CAUSTIC,)),
    (("dish", "dryer", "drier", "fridge", "freezer"), (INVERTER,)),
    (("disposer", "coffee", "espresso", "cooker hood"), (BLADES,)),
)
EVERYTHING = (WATER, GAS, SEALED, CHARGE)

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


def for_kind(kind: str) -> list[str]:
    """Cautions for a kind of machine, in the order they are shown; for one that is not known, all of them."""
    name = " " + kind.casefold().replace("-", " ")
    found = [text for words, texts in BY_KIND if any(f" {word}" in name for word in words) for text in texts]
    return [FIRST, *dict.fromkeys(found or EVERYTHING)]


def stop_words(dangers: str) -> list[str]:
    """What to do at once, for dangers joined as `dangers_of` joins them."""
    return [STOP[danger] for danger in dangers.split("; ")]
