"""
Which ways of writing a fault code are one code: "E-12", "e 12", "Error: E012"; "flashes 6 then 3".

A bare 12 is not E12: some makers number their faults without a letter. A code only means something within one family
of machines, so figures by code tell kind and make with it.
"""

from __future__ import annotations

import re
import unicodedata

# Common practice, no source.
_SAYS = re.compile(
    r"\b(?:err(?:or)?|code|codes|fault|faults|display(?:s|ed)?|shows?|fehler(?:code)?|zeigt|fout(?:code)?|storing(?:scode)?|"
    r"toont|erreur|panne|affiche|defaut|défaut)\b[.:=#]*"
)
_NONE = frozenset(("", "no", "none", "nil", "keiner", "kein", "geen", "aucun", "sans", "pas de", "0", "00"))
_BLINKS = re.compile(
    r"(?:(?:flash|blink)(?:es|s|ing)?|blinkt|knippert|clignote)\s*(\d+)(?:\s*(?:x|times|mal|keer|fois))?"
    r"(?:\s*(?:then|and|dann|und|dan|en|puis|et|-|/|,)\s*(\d+))?"
)
_LETTERS_AND_NUMBER = re.compile(r"([a-z]{1,3})[\s.-]*0*(\d+)")
_SEVERAL = re.compile(r"\s*(?:/|\+|&|;|,|\band\b|\bund\b|\ben\b|\bet\b)\s*")


def code_key(text: str) -> str | None:
    """
    What a fault code is compared by; None for "no code".

    Examples
    --------
    >>> code_key("Error: E-012"), code_key("flashes 6 then 3"), code_key("12"), code_key("no code")
    ('E12', 'B6-3', '12', None)
    """
    plain = " ".join(unicodedata.normalize("NFKC", text).casefold().split())
    blinks = _BLINKS.search(plain)
    if blinks:
        return "B" + "-".join(number.lstrip("0") or "0" for number in blinks.groups() if number)
    said = " ".join(_SAYS.sub(" ", plain).split()).strip(" .:;,-*\"'()[]")
    if said in _NONE:
        return None
    return "/".join(_one(code) for code in _SEVERAL.split(said) if code) or None


def _one(code: str) -> str:
    found = _LETTERS_AND_NUMBER.fullmatch(code)
    return f"{found.group(1)}{found.group(2)}".upper() if found else re.sub(r"[\s-]+", "", code).upper()
