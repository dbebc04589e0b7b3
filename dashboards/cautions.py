"""What stands above every answer about work on a machine, by kind of machine. It is never re-ordered and never hidden.

Source: usual cautions of the trade (common practice, no source), and for stored charge: US Consumer Product Safety
Commission, document 5061 (microwave ovens and inverter boards hold charge when unplugged). Licensed work: national law.
"""

from __future__ import annotations

FIRST = "Isolate the electricity and prove it dead; let the machine cool. Competent people only; local codes come first."
WATER = "Water off, and drained before anything is opened. Panels have sharp edges."
SEALED = "The refrigerant circuit stays closed: only certified people open it. Flammable charge: no flame, no sparks, air the room."
GAS = "Gas: only people licensed for it open or set anything that carries gas. Smell of gas: no switch, gas off, air, out."
CHARGE = "Holds a charge that can kill when unplugged. No test under voltage, no work with the cover off: refer it."
HEAT = "Boiler under pressure and hot: let it cool and let the pressure off first."
MOVING = "Fans, belts and drums start by themselves: prove it dead first. Lifting takes two."
DUCT = "Lint burns: look at the vent duct on every visit. A gas dryer is gas work."
INVERTER = "Inverter boards hold a charge after switching off: wait as the maker says, and prove it gone."

# Beginnings of words in the name of a kind of machine, and what they call for. All that fit are shown, in this order.
BY_KIND: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("microwave",), (CHARGE,)),
    (("oven", "hob", "range", "cooker", "gas", "boiler", "heater"), (GAS,)),
    (("fridge", "freezer", "ice", "cool", "cold", "heat pump", "air condition"), (SEALED,)),
    (("coffee", "espresso"), (HEAT,)),
    (("dryer", "drier"), (DUCT, MOVING)),
    (("washer", "washing"), (WATER, MOVING, INVERTER)),
    (("dish", "glass", "disposer", "softener", "ice", "coffee", "espresso"), (WATER,)),
    (("dish", "dryer", "drier", "fridge", "freezer"), (INVERTER,)),
)
EVERYTHING = (WATER, GAS, SEALED, CHARGE)
STOP = {
    "shock": "Somebody got a shock or a tingle. Make safe and stop: switch off at the supply, nobody touches the machine.",
    "smoke": "Smoke. Make safe and stop: switch off at the supply, look for fire first.",
    "fire": "Fire, flames or sparks. Make safe and stop: everybody out, the fire brigade where it burns.",
    "gas": "Smell of gas. Make safe and stop: no switch, no flame, gas off, air the room, get out, call the gas emergency line.",
    "flood": "Flood. Make safe and stop: water off, electricity off before you step into water.",
    "burning smell": "Smell of burning. Make safe and stop: switch off at the supply and leave it off.",
}
AFTER_STOP = "No likely part is shown for this. It is for people licensed for it, and the machine stays off until they have found the cause."


def for_kind(kind: str) -> list[str]:
    """Cautions for a kind of machine; for one that is not known, all of them."""
    name = " " + kind.casefold().replace("-", " ")
    found = [text for words, texts in BY_KIND if any(f" {word}" in name for word in words) for text in texts]
    return [FIRST, *dict.fromkeys(found or EVERYTHING)]
