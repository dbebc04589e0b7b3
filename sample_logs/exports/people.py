"""Customers of the invented firm: a name, a telephone number and a way in for each site. None of it is anybody's.

They stand in the exports so that it can be shown that nothing of them is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

_STARTS = ("Zub", "Onv", "Quel", "Vrim", "Xath", "Plez", "Gwyv", "Drox", "Yilb", "Thwaz", "Kreff", "Jusp")
_MIDDLES = ("ra", "elo", "imbu", "ovi", "ukta", "ezzo", "andri", "ilpo", "urge", "yffa")
_ENDS = ("thwick", "zonda", "quell", "vrax", "plim", "drusk", "xen", "gorv")
_CALLED = ("Ozvild", "Trimqua", "Belzira", "Vunnoc", "Ixaphe", "Quorla", "Zeddin", "Wexuli")
# Ranges that the British regulator keeps free for drama, each of 1,000 numbers (from memory).
_FICTION = (
    "01632 960",
    "07700 900",
    "020 7946 0",
    "0113 496 0",
    "0114 496 0",
    "0115 496 0",
    "0116 496 0",
    "0117 496 0",
)
# No hexadecimal digit among them: a digest must not hold such a code by chance.
_SAFE = "GHJKLMNPQRSTVWXZ"


@dataclass(frozen=True)
class Person:
    """Who opens the door, under which number, and how one gets in."""

    name: str
    telephone: str
    way_in: str

    @property
    def marks(self) -> tuple[str, ...]:
        """Texts by which each of them is told."""
        return (*self.name.split(), self.telephone, self.telephone.replace(" ", ""), self.way_in.split()[-1])


@cache
def person(site_id: str) -> Person:
    """Customer of a site; another one for each site up to 7,680 of them."""
    number = int("".join(sign for sign in site_id if sign.isdigit()) or 0)
    rest, end = divmod(number, len(_ENDS))
    rest, start = divmod(rest, len(_STARTS))
    called, middle = divmod(rest, len(_MIDDLES))
    family = _STARTS[start] + _MIDDLES[middle] + _ENDS[end]
    prefix = _FICTION[number // 1000 % len(_FICTION)]
    # Five letters between digits: such a code stands nowhere else in a log.
    code = "".join(_SAFE[number * 7919 // len(_SAFE) ** place % len(_SAFE)] for place in range(5))
    return Person(
        name=f"{_CALLED[(called + number) % len(_CALLED)]} {family}",
        telephone=f"{prefix}{number % 1000:03d}",
        way_in=f"key safe {number % 7 + 2}{code}{number % 9}{number % 5 + 3}",
    )
