"""What one cell looks like: a date, a time of day, a number, an amount, a length of time, a code, a name, a telephone number."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.normalise.amount_forms import NOTHING
from pipeline.normalise.date_forms import FIRST_SERIAL, MONTHS, WEEKDAYS

_MONTH_NO = {word: number for number, words in enumerate(MONTHS, start=1) for word in words.split()}
_MONTH = "|".join(sorted(_MONTH_NO, key=len, reverse=True))
_WEEKDAY = "|".join(sorted({word for words in WEEKDAYS for word in words.split()}, key=len, reverse=True))
_CLOCK = r"(?:[t, ]+(?P<h>\d{1,2})[:.h](?P<n>\d{2})(?:[:.]\d{2}(?:[.,]\d+)?)?\s*(?P<p>am|pm|a\.m\.|p\.m\.|uhr|uur|h)?(?:z|[+-]\d\d:?\d\d)?)?$"
_BEFORE = rf"^(?:(?:{_WEEKDAY})[.,]*\s+)?"
_DATES = tuple(
    re.compile(pattern + _CLOCK)
    for pattern in (
        r"^(?P<y>(?:19|20)\d{2})[/.-](?P<m>\d{1,2})[/.-](?P<d>\d{1,2})",
        r"^(?P<y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})",
        _BEFORE + r"(?P<a>\d{1,2})(?P<s>[./-])\s?(?P<b>\d{1,2})(?P=s)\s?(?P<y>\d{4}|\d{2})",
        _BEFORE
        + rf"(?P<d>\d{{1,2}})(?:st|nd|rd|th)?[ ./-]*(?:of )?(?P<k>{_MONTH})[ .,/-]*(?P<y>\d{{4}}|\d{{2}})",
        _BEFORE + rf"(?P<k>{_MONTH})[ .-]*(?P<d>\d{{1,2}})(?:st|nd|rd|th)?[ ,-]+(?P<y>\d{{4}})",
    )
)
_FIRST_DAY = date(1899, 12, 30)
_TIME = re.compile(r"^([01]?\d|2[0-3])[:.h]([0-5]\d)(?::[0-5]\d)?\s*(am|pm|uhr|uur|h)?$", re.IGNORECASE)
_MONEY_SIGN = re.compile(r"€|£|\$|\b(?:eur|gbp|usd|chf|euros?)\b", re.IGNORECASE)
_AROUND = re.compile(
    r"€|£|\$|\b(?:eur|gbp|usd|chf|sek|nok|dkk|pln|euros?|inc|incl|ex|excl|net|vat|mwst|btw|tva)\b|\+vat|[.,]?-+$|[  ]",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"^[-+(]?\d{1,3}(?:[.,' ’]\d{3})*(?:[.,]\d{1,2})?\)?$|^[-+(]?\d+(?:[.,]\d+)?\)?$")
_NOTHING = re.compile(rf"^(?:{NOTHING})$")
_LENGTH = (
    (
        re.compile(
            r"^(\d{1,2})\s*(?:h|hr|hrs|hour|hours|std|uur|heures?)\.?\s*(?:(\d{1,2})\s*(?:m|min|mins|minutes?)?\.?)?$"
        ),
        60.0,
    ),
    (re.compile(r"^(\d{1,4})(?:[.,]\d+)?\s*(?:m|min|mins|minutes?|minuten|'|’|′)\.?$"), 1.0),
    (re.compile(r"^(\d{1,2}):([0-5]\d)(?::\d\d)?\s*(?:h|hrs?|std)?$"), 60.0),
    (re.compile(r"^(\d{1,2}(?:[.,]\d+)?)\s*(?:h|hr|hrs|hours?|std|stunden?|uur|uren|heures?)\.?$"), 60.0),
)
_HALVES = re.compile(r"^(?:\d{1,2}\s*)?(?:½|¼|¾|[13]/[24])\s*(?:h|hrs?|hours?)?$")
COUNT = re.compile(r"^(?:[x×]\s?\d{1,2}|\d{1,2}\s?(?:[x×]|off))$", re.IGNORECASE)
EMAIL = re.compile(r"^\S+@\S+\.\w{2,}$")
TELEPHONE = re.compile(
    r"^(?=(?:\D*\d){7,15}\D*$)(?:\+|00|\(?0)[\d\s()/.-]+$|^\(?\d{3}\)?[ .-]\d{3}[ .-]\d{4}$"
)
POSTCODE = re.compile(
    r"^(?:[A-Z]{1,3}\d[A-Z\d]?\s\d[A-Z]{2}|\d{4}\s?[A-Z]{2}|\d{5}(?:-\d{4})?|[A-Z]{2,3}\s\d{1,3})$"
)
OUTWARD = re.compile(r"^[A-Z]{1,2}\d{1,2}[A-Z]?$")
STREET = re.compile(
    r"^\d{1,4}[a-z]?,?\s+[^\W\d_].*[^\W\d_]{3}|[^\W\d_]{3,}(?:str(?:aße|asse|\.)?|straat|laan|weg|gasse|platz|allee|gracht|kade|plein)\s*\d{1,4}\s?[a-z]?$"
    r"|^[^\W\d_]{4,}[\w .'-]*\s\d{1,4}\s?[a-z]?$",
    re.IGNORECASE,
)
CODE = re.compile(r"^(?=.*\d)[A-Za-z]{0,6}[\w/.-]*(?: ?[\w/.-]+){0,2}$")
FAULT = re.compile(
    r"^(?:err(?:or)?|code|fault)?[ .:]*[A-Za-z]{1,3}[- ]?\d{1,3}$|^[A-Z]\d?[A-Z]$|^B?\d{1,2}-\d{1,2}$|^flashes.*\d",
    re.IGNORECASE,
)
READING = re.compile(
    r"^[<>~±-]?\s*\d+(?:[.,]\d+)?\s*(?:k?Ω|[km]?ohms?|v|volts?|m?a|amps?|µf|uf|bar|k?pa|°\s?c|°|l/min|mm|w|kw|hz|%|s|mω)$",
    re.IGNORECASE,
)
PERSON = re.compile(
    r"^(?:(?:mrs?|ms|miss|dr|herrn?|frau|mme|m\.|dhr|mevr|mevrouw|mw|fam|familie|famille|eheleute)\.?\s+)?[^\W\d_][^\W\d_'’.-]*(?:[ -][^\W\d_][^\W\d_'’.-]*){0,3}$",
    re.IGNORECASE,
)
CURRENCIES = frozenset(
    ("eur", "gbp", "usd", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "cad", "aud", "nzd", "€", "£", "$")
)
NOTHING_KNOWN = frozenset(
    (
        "-",
        "--",
        "---",
        "–",
        "n/a",
        "na",
        "n.a.",
        "none",
        "null",
        "nil",
        "tbc",
        "tba",
        "?",
        "??",
        "k.a.",
        "n.v.t.",
        "nvt",
        "unknown",
        "not known",
        "unbekannt",
        "onbekend",
        "inconnu",
        "x",
        ".",
        "/",
    )
)


@dataclass(frozen=True)
class Day:
    """A cell read as a date: numbers as they stand, and minutes after midnight where a time of day stands with it."""

    first: int
    second: int
    year: int
    clock: int | None
    is_fixed: bool  # whether only one order of day and month is possible

    def ordinal(self, *, month_first: bool) -> float | None:
        """Day, and part of it, as one number; None where there is no such day."""
        day, month = (
            (self.second, self.first) if month_first and not self.is_fixed else (self.first, self.second)
        )
        try:
            return date(self.year, month, day).toordinal() + (self.clock or 0) / 1440
        except ValueError:
            return None


def day_of(cell: str) -> Day | None:
    """A cell as a date, if it is one."""
    text = cell.lower()
    for pattern in _DATES:
        found = pattern.match(text)
        if found:
            return _day(found.groupdict())
    return None


def _day(said: dict[str, str | None]) -> Day:
    year = int(said["y"] or 0)
    year = year if year > 99 else year + (1900 if year >= 69 else 2000)
    clock = None
    if said.get("h"):
        hour = int(said["h"] or 0)
        half = said.get("p") or ""
        hour = hour % 12 + 12 if half.startswith("p") else hour % 12 if half.startswith("a") else hour
        clock = 60 * hour + int(said["n"] or 0)
    if said.get("a"):
        return Day(int(said["a"] or 0), int(said["b"] or 0), year, clock, is_fixed=False)
    month = _MONTH_NO[said["k"] or ""] if said.get("k") else int(said["m"] or 0)
    return Day(int(said["d"] or 0), month, year, clock, is_fixed=True)


def serial_day(number: float) -> float:
    """The number that spreadsheets keep a day as, on the scale of `Day.ordinal`."""
    return (_FIRST_DAY + timedelta(days=int(number))).toordinal() + number % 1


SERIALS = (max(FIRST_SERIAL, 36_526), 55_153)  # 2000 to 2050: other numbers are more likely something else


def clock_of(cell: str) -> int | None:
    """Minutes after midnight of a cell that is a time of day and nothing else."""
    found = _TIME.match(cell)
    if not found:
        return None
    hour, half = int(found.group(1)), (found.group(3) or "").lower()
    hour = hour % 12 + 12 if half == "pm" else hour % 12 if half == "am" else hour
    return 60 * hour + int(found.group(2))


def number_of(cell: str) -> float | None:
    """A cell as a number or an amount, with either decimal mark; None where it is none."""
    if _NOTHING.match(cell.lower()):
        return 0.0
    text = _AROUND.sub("", cell).strip()
    if not _NUMBER.match(text):
        return None
    sign = -1.0 if text.startswith(("-", "(")) else 1.0
    text = text.strip("+-()").replace("'", "").replace("’", "").replace(" ", "")
    mark = max(text.rfind("."), text.rfind(","))
    after = len(text) - mark - 1
    if mark >= 0 and (after != 3 or text[:mark] == "0" or len(text[:mark]) > 3):
        whole = re.sub(r"[.,]", "", text[:mark])
        return sign * float(f"{whole or 0}.{text[mark + 1 :] or 0}")
    return sign * float(re.sub(r"[.,]", "", text))


def has_money_sign(cell: str) -> bool:
    """Whether a cell names a currency."""
    return bool(_MONEY_SIGN.search(cell))


def has_pence(cell: str) -> bool:
    """Whether two digits stand after the last mark, as in an amount."""
    return bool(re.search(r"\d[.,]\d\d\)?(?:\s*\D*)$", cell))


def length_of(cell: str) -> float | None:
    """Minutes of a cell that names its unit: "1h10", "45 min", "1:30"."""
    text = cell.lower().strip()
    if _HALVES.match(text):
        return 30.0
    for pattern, unit in _LENGTH:
        found = pattern.match(text)
        if found:
            parts = [float(part.replace(",", ".")) for part in found.groups() if part]
            return parts[0] * unit + (parts[1] if len(parts) > 1 else 0)
    return None


def share(cells: Sequence[str], pattern: re.Pattern[str], counts: Sequence[int]) -> float:
    """Share of rows whose cell a pattern fits, from distinct cells and their counts."""
    every = sum(counts)
    return (
        sum(n for cell, n in zip(cells, counts, strict=True) if pattern.match(cell)) / every if every else 0.0
    )
