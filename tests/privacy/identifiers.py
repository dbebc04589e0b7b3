"""Identifiers of twelve kinds, drawn by seed: invented people, numbers that nobody has, and the marks they are told by.

A mark is a form that must not be found anywhere: a name's rare part without case, a number's digits alone.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass

# Given names are common ones; family names are made up, of sounds that the language has.
GIVEN = {
    "en": ("Jane", "Thomas", "Siobhan", "Callum", "Priya", "Winston"),
    "de": ("Jürgen", "Heike-Maria", "Wolfgang", "Anneliese", "Ulrike", "Detlef"),
    "nl": ("Pieter", "Marijke", "Joost", "Femke", "Willem", "Liesbeth"),
    "fr": ("Jean-Luc", "Amélie", "Thierry", "Solène", "Benoît", "Odile"),
    "es": ("José", "María", "Javier", "Rocío", "Alejandra", "Ignacio"),
    "pl": ("Agnieszka", "Krzysztof", "Małgorzata", "Wojciech", "Zofia", "Bartosz"),
    "tr": ("Mehmet", "Ayşe", "Mustafa", "Elif", "Burak", "Emre"),
    "it": ("Giuseppe", "Chiara", "Vincenzo", "Francesca", "Matteo", "Giulia"),
}
FAMILY = {
    "en": ("Qu{}by", "Thr{}wick", "O'Qu{}an", "McV{}ly"),
    "de": ("Zw{}mann", "Gr{}hofer", "von Pf{}stein", "Schr{}witz"),
    "nl": ("van D{}pel", "de Zw{}we", "Vr{}stra", "van den Kw{}ink"),
    "fr": ("Qu{}ot", "de Vr{}ville", "Br{}eau", "Dupr{}ain"),
    "es": ("Qu{}ález", "Vr{}íguez", "Zam{}añón", "Ib{}eta"),
    "pl": ("Zw{}owski", "Prz{}ińska", "Krz{}czyk", "Szw{}ak"),
    "tr": ("Zw{}oğlu", "Yıl{}maz", "Kar{}göz", "Öz{}türk"),
    "it": ("Qu{}etti", "Vr{}ucci", "Zan{}ello", "Br{}ardi"),
}
_VOWELS = (
    "ila",
    "ondu",
    "ero",
    "umi",
    "ax",
    "ivo",
    "elo",
    "anu",
    "oris",
    "ule",
    "irp",
    "osta",
    "ebla",
    "unk",
    "arv",
)
_STREETS = {
    "en": "{n} {name} {kind}",
    "de": "{name}straße {n}",
    "nl": "{name}laan {n}",
    "fr": "{n} rue de {name}",
    "es": "Calle {name} {n}",
    "pl": "ul. {name}owa {n}",
    "it": "Via {name} {n}",
    "sv": "{name}gatan {n}",
}
# Ranges that regulators keep free for drama where they have one; the others are of nobody that we know of.
_TELEPHONES = (
    "07700 900{d3}",
    "020 7946 0{d3}",
    "0113 496 0{d3}",
    "+44 7700 900{d3}",
    "(0114) 496-0{d3}",
    "07700900{d3}",
    "+49 30 23125{d3}",
    "030/23125{d3}",
    "06-1{d3}{d2}77",
    "+31 6 1{d3}{d2}77",
    "01 99 00 {d2} {d2}",
    "+33 1 99 00 {d2} {d2}",
    "(202) 555-0{d3}",
    "+1-202-555-0{d3}",
    "612 {d3} {d3}",
    "+48 512 {d3} {d3}",
    "0664 {d3}{d2}77",
    "+353 20 91{d3}77",
    "0044 7700 900{d3}",
    "07700.900.{d3}",
    "07700-900-{d3}",
)
_MONTHS = ("May", "June", "August", "October")
KINDS = (
    *("name", "telephone", "e-mail", "address", "postcode", "plate"),
    *("account", "access", "absence", "serial", "customer number", "technician"),
)  # fmt: skip


@dataclass(frozen=True)
class Identifier:
    """One thing that tells somebody, how a person would write it among other words, and the marks it is told by."""

    kind: str
    text: str
    marks: tuple[str, ...]
    said: tuple[str, ...]  # ways in which it stands in a text, with what makes it what it is


def identifiers(count: int, seed: int) -> list[Identifier]:
    """As many identifiers, the kinds in turn, no two with a mark in common."""
    draw = random.Random(seed)
    found: list[Identifier] = []
    used: set[str] = set()
    while len(found) < count:
        each = _of_kind(KINDS[len(found) % len(KINDS)], draw)
        if not used & set(each.marks):
            used |= set(each.marks)
            found.append(each)
    return found


def plain(text: str) -> str:
    """A text as a mark is compared: no case."""
    return text.casefold()


def digits(text: str) -> str:
    """A number as it is compared: its letters and digits only."""
    return re.sub(r"[\W_]", "", text).casefold()


def _rare(draw: random.Random) -> str:
    return draw.choice(_VOWELS) + draw.choice("bdgklmnprstv") + draw.choice(_VOWELS)


def _person(draw: random.Random) -> tuple[str, str, str]:
    """Given name, family name, and the part of it that nobody else has."""
    language = draw.choice(list(GIVEN))
    family = draw.choice(FAMILY[language]).format(_rare(draw))
    return draw.choice(GIVEN[language]), family, family.split()[-1]


def _number(draw: random.Random, count: int) -> str:
    return "".join(draw.choice("123456789") for _ in range(count))


def _of_kind(kind: str, draw: random.Random) -> Identifier:
    return {
        "name": _name,
        "telephone": _telephone,
        "e-mail": _email,
        "address": _address,
        "postcode": _postcode,
        "plate": _plate,
        "account": _account,
        "access": _access,
        "absence": _absence,
        "serial": _serial,
        "customer number": _customer_number,
        "technician": _technician,
    }[kind](draw)


def _name(draw: random.Random) -> Identifier:
    given, family, rare = _person(draw)
    full = f"{given} {family}"
    ways = (
        full,
        f"Mrs {family}",
        f"{rare}, {given}",
        f"{given[0]}. {family}",
        full.upper(),
        full.lower(),
        f"ask for {full}",
        f"tenant {full} rang",
        f"Mr {family} not in",
        f"spoke to {rare}",
        f"Herr {family}",
        f"cust: {rare}",
        f"Family {family}",
        f"Fam. {family}",
        f"spoke with {rare.lower()}",
        f"Sig. {rare}",
    )
    return Identifier("name", full, (plain(rare),), (draw.choice(ways), full))


def _telephone(draw: random.Random) -> Identifier:
    text = draw.choice(_TELEPHONES).format(d3=_number(draw, 3), d2=_number(draw, 2))
    return Identifier("telephone", text, (digits(text)[-9:],), (text, f"tel {text}", f"ring {text} first"))


def _email(draw: random.Random) -> Identifier:
    given, _, _ = _person(draw)
    local = f"{given[0].lower()}.{_rare(draw)}"
    text = draw.choice((f"{local}@post.example", f"{local}@zwirn.example.org", f"{local} (at) post.example"))
    return Identifier("e-mail", text, (plain(local),), (text, f"mail {text}"))


def _address(draw: random.Random) -> Identifier:
    rare = (draw.choice("BDGKLMNPRSTV") + _rare(draw)).capitalize()
    language = draw.choice(list(_STREETS))
    kind = draw.choice(("Road", "Street", "Close", "Rd", "Avenue", "Crescent"))
    number = draw.randint(1, 240)
    text = draw.choice(
        (
            _STREETS[language].format(n=number, name=rare, kind=kind),
            _STREETS[language].format(n=number, name=rare, kind=kind),
            f"Flat {number}, {rare} House",
            f"{rare.lower()}straat {number}",
        )
    )
    return Identifier(
        "address", text, (plain(rare),), (text, f"machine is at {text}", f"{text}, second floor")
    )


def _postcode(draw: random.Random) -> Identifier:
    letters = "ABDEFGHJLNPQRSTUWXYZ"
    pair = draw.choice(letters) + draw.choice("BDFGJLNQSTXY")
    inner = f"{draw.randint(1, 9)}{pair}"
    town = ("Z" + _rare(draw)).capitalize()
    text = draw.choice(
        (
            f"Q{draw.choice('XZ')}{draw.randint(1, 99)} {inner}",
            f"{_number(draw, 4)} {pair}",
            f"{_number(draw, 5)} {town}",
        )
    )
    whole = plain(town) if town in text else digits(text)
    return Identifier("postcode", text, (whole,), (text, f"at {text}"))


def _plate(draw: random.Random) -> Identifier:
    safe = "BDFGHJKLMNPRSTVXZ"
    two, three = (("".join(draw.choice(safe) for _ in range(n))) for n in (2, 3))
    text = draw.choice(
        (
            f"{two}{_number(draw, 2)} {three}",
            f"{two}-{_number(draw, 3)}-{two[::-1]}",
            f"{draw.choice(safe)}-{two} {_number(draw, 4)}",
        )
    )
    return Identifier("plate", text, (digits(text),), (text, f"van {text}", f"blocked by {text}"))


def _account(draw: random.Random) -> Identifier:
    text = draw.choice(
        (
            f"GB{_number(draw, 2)} BUKB {_number(draw, 4)} {_number(draw, 4)} {_number(draw, 4)} {_number(draw, 2)}",
            f"DE{_number(draw, 20)}",
            f"4929 {_number(draw, 4)} {_number(draw, 4)} {_number(draw, 4)}",
            f"nl{_number(draw, 2)} zwrx {_number(draw, 4)} {_number(draw, 4)} {_number(draw, 2)}",
            f"{_number(draw, 16)}",
            f"account no {_number(draw, 8)}",
            f"sort code {_number(draw, 2)}-{_number(draw, 2)}-{_number(draw, 2)}",
        )
    )
    mark = digits(re.sub(r"account no|sort code", "", text))
    return Identifier("account", text, (mark,), (text, f"pays by {text}"))


def _access(draw: random.Random) -> Identifier:
    code = _number(draw, draw.choice((5, 6)))
    mixed = f"{_number(draw, 2)}{draw.choice('XZQ')}{draw.choice('BKV')}{_number(draw, 2)}"
    text, mark = draw.choice(
        (
            (f"key safe {code}", code),
            (f"alarm code is {code}", code),
            (f"gate {code}#", code),
            (f"{code} for the gate", code),
            (f"keysafe {mixed}", mixed),
            (f"Schlüsselsafe {code}", code),
            (f"digicode {code}", code),
            (f"entry code: {mixed}", mixed),
            (f"alarm {' '.join(code)}", code),
            (f"ks {code}", code),
            (f"c{code}y on gate", code),
            (f"wlan pw {mixed}", mixed),
        )
    )
    return Identifier("access", text, (plain(mark),), (text,))


def _absence(draw: random.Random) -> Identifier:
    # A year far off, so that the day stands nowhere else.
    day = f"{draw.randint(10, 28)} {draw.choice(_MONTHS)} 20{draw.randint(61, 98)}"
    text = draw.choice(
        (
            "away until {}",
            "on holiday till {}",
            "back on {}",
            "not home until {}",
            "out until {}",
            "im Urlaub bis {}",
            "back {}",
            "hols till {}",
            "op vakantie tot {}",
            "en vacances jusqu'au {}",
        )
    ).format(day)
    return Identifier("absence", text, (plain(day),), (text,))


def _serial(draw: random.Random) -> Identifier:
    text = draw.choice(
        (
            f"{_number(draw, 12)}",
            f"QX{_number(draw, 10)}",
            f"{_number(draw, 4)} {_number(draw, 3)} {_number(draw, 5)}",
        )
    )
    return Identifier("serial", text, (digits(text),), (f"S/N {text}", f"serial no {text}", text))


def _customer_number(draw: random.Random) -> Identifier:
    number = _number(draw, draw.choice((6, 7)))
    text = draw.choice(
        ("customer no {}", "cust {}", "Kd.-Nr. {}", "client ref {}", "klantnr {}", "policy {}")
    ).format(number)
    return Identifier("customer number", text, (number,), (text,))


def _technician(draw: random.Random) -> Identifier:
    given, family, rare = _person(draw)
    text = f"{given} {family}"
    return Identifier(
        "technician",
        text,
        (plain(rare),),
        (f"done by {text}", f"seen by {given[0]}. {rare}", f"engineer {text}", f"fitted by {rare}"),
    )
