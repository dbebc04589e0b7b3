"""Which part a number is, also where a spreadsheet or a hand has damaged it: looked up in the parts list, never guessed."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable

from pipeline.vocabulary.no_parts import NoParts

_DROPPED = str.maketrans("", "", " \t\r\n-./\u2010\u2011\u2013")
# A spreadsheet shows 12E34, or a long run of digits, as 1.2E+35: which number it was nobody can tell any more.
_EXPONENT = re.compile(r"-?\d(?:[.,]\d+)?E\+\d+", re.IGNORECASE)
# Behind a number, the one it had before: "1234567 (was 1234560)".
_FORMER = re.compile(
    r"\s*\((?:was|formerly|old|prev|previously|replaces|früher|alt|ersetzt|vroeger|oud|vervangt|ancien|remplace)\b[^()]*\)\s*$",
    re.IGNORECASE,
)
# Signs that hands and printers mistake for each other.
_MISTAKEN = str.maketrans("OIB", "018")

AS_WRITTEN = "as written"
FORMER = "with its former number"
NO_PART = "no part"
LOST = "lost to a spreadsheet"
ZEROS = "leading zeros lost"
MISTAKEN = "one sign mistaken"
DAMAGED = (LOST, ZEROS, MISTAKEN)


def match_key(part_no: str) -> str | None:
    """Key under which part numbers are compared; None when nothing is left."""
    return unicodedata.normalize("NFKC", part_no).upper().translate(_DROPPED) or None


class PartKeys:
    """
    Keys of part numbers.

    Parameters
    ----------
    listed : iterable of str
        Numbers of the parts list, as written there.
    no_parts : NoParts
        What is no part.
    """

    def __init__(self, listed: Iterable[str], no_parts: NoParts) -> None:
        self._no_parts = no_parts
        self._listed = {key for number in listed if (key := match_key(number))}
        self._by_zeros: dict[str, set[str]] = defaultdict(set)
        self._by_signs: dict[str, set[str]] = defaultdict(set)
        for key in self._listed:
            self._by_zeros[key.lstrip("0")].add(key)
            self._by_signs[key.translate(_MISTAKEN)].add(key)

    def read(self, part_no: str) -> tuple[str | None, str]:
        """
        Key of a number, and the rule that found it.

        A number that no list holds is another one's only if exactly one listed number differs from it by zeros in
        front, which spreadsheets drop, or by a single O for 0, I for 1 or B for 8.
        """
        now = _FORMER.sub("", part_no)
        if now != part_no:
            key, rule = self.read(now)
            return key, FORMER if rule == AS_WRITTEN else rule
        if part_no in self._no_parts:
            return None, NO_PART
        if _EXPONENT.fullmatch(part_no.strip()):
            return None, LOST
        key = match_key(part_no)
        if key is None or key in self._listed:
            return key, AS_WRITTEN
        if key.isdecimal():
            fuller = [other for other in self._by_zeros.get(key.lstrip("0"), ()) if len(other) > len(key)]
            if len(fuller) == 1:
                return fuller[0], ZEROS
        near = [
            other for other in self._by_signs.get(key.translate(_MISTAKEN), ()) if _differing(key, other) == 1
        ]
        return (near[0], MISTAKEN) if len(near) == 1 else (key, AS_WRITTEN)


def _differing(one: str, other: str) -> int:
    return sum(a != b for a, b in zip(one, other, strict=True))
