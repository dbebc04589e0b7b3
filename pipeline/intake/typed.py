"""
Cells that should hold a date, a number, an amount or a yes: whatever else stands there keeps only its shape.

A shifted row puts a name where a date should be. Nothing can be read from it there, so nothing but its shape
(letters as A and a, digits as 9) is needed to say so.
"""

from __future__ import annotations

import re
from functools import lru_cache

import polars as pl

# How nearly every such cell looks; these are passed by at once.
_PLAIN = (
    r"^(?:\d{4}-\d\d-\d\d(?:[ T]\d\d:\d\d(?::\d\d(?:\.\d{1,9})?)?(?:Z|[+-]\d\d:?\d\d)?)?|[+-]?(?:0|[1-9]\d{0,7})(?:[.,]\d{1,6})?|"
    r"(?i:yes|no|unknown|true|false|y|n))$"
)

_PLAIN_ANSWER = r"^(?:(?i:yes|no|unknown|true|false|y|n)|\d)$"
_SEVERAL_DIGITS = re.compile(r"\d\D*\d")

# Months and days of four languages, full and short
_DAYS_AND_MONTHS = """
january february march april may june july august september october november december jan feb mar apr jun jul aug sep sept
oct nov dec januar februar märz maerz mai juni juli oktober dezember mrz okt dez januari februari maart mei augustus mrt
janvier février fevrier mars avril juin juillet août aout septembre octobre novembre décembre decembre janv févr fevr avr juil
monday tuesday wednesday thursday friday saturday sunday mon tue tues wed thu thur thurs fri sat sun montag dienstag mittwoch
donnerstag freitag samstag sonntag mo di mi do fr sa so maandag dinsdag woensdag donderdag vrijdag zaterdag zondag ma wo vr za zo
lundi mardi mercredi jeudi vendredi samedi dimanche lun mar mer jeu ven sam dim
"""
# Parts of dates and times
_PARTS_OF_TIME = """
t z pt utc gmt am pm uhr h hr hrs hour hours m min mins minute minutes s sec std stunde stunden minuten uur uren minuut heure heures
w wk week weeks kw sem semaine q d day days tag tage dag dagen jour jours month months monat monate maand maanden mois
y yr yrs year years jahr jahre jaar ans an st nd rd th of de le the ca approx about circa noon midnight e to bis tot
"""
# Money and amounts
_MONEY_AND_AMOUNTS = """
eur gbp usd chf sek nok dkk pln czk huf cad aud nzd euro euros inc incl inkl ex excl exkl zzgl netto brutto vat mwst btw tva tax net gross p c
foc nc free goodwill charge no gratis kostenlos gratuit x off pair pairs paar set pcs pc stk st stück ea each k l ltr
"""
# Yes and no
_ANSWERS = """
yes no y n ja nein nee j oui non o true false unknown na none nil null pass passed fail failed ok done not nicht niet pas
bestanden unbekannt onbekend inconnu
"""
_NAMES_OF_DAYS_AND_MONTHS = frozenset(_DAYS_AND_MONTHS.split())
_WORDS = frozenset((_DAYS_AND_MONTHS + _PARTS_OF_TIME + _MONEY_AND_AMOUNTS + _ANSWERS).split())
_WORD = re.compile(r"[^\W\d_½¼¾]+")
_DIGITS = re.compile(r"\d[\d\s()./,:-]*\d|\d")
_DATE = re.compile(
    r"(?:\d{4}|\d{1,2})([-/.])\d{1,2}\1(?:\d{4}|\d{1,2})(?:[ T,]+\d{1,2}(?:[:.]\d\d(?:[:.]\d\d(?:[.,]\d+)?)?)?)?(?:\s?[+-]?\d\d:?\d\d)?"
    r"|(?:19|20)\d\d(?:0[1-9]|1[0-2])[0-3]\d ?\d\d:?\d\d(?::?\d\d)?"
    r"|(?:19|20)\d\d[ ,]+\d{1,2}[:.]\d\d[:.]\d\d"
)
# A day and its hour as a spreadsheet numbers them, a part of a day, hours with all their decimals: nobody's number.
_FRACTION = re.compile(r"0[.,]\d{1,17}|[1-9]?\d[.,]\d{7,16}|[1-7]\d{4}[.,]\d{1,12}")
# Made of nothing but words of time and digits, and still a plate or a postcode: D-PT 1429, MO12 DEC, 12-PT-34, W1 2ST, 2141 EX.
_PLATE_OR_POSTCODE = re.compile(
    r"[^\W\d_]-[^\W\d_]|\b[A-Z]{2}\d\d\s?[A-Z]{3}\b|\b[A-Z]{1,3}-\d{2,3}-[A-Z]{1,2}\b|\b\d{1,2}-(?P<between>[A-Z]{2,3})-\d{1,2}\b"
    r"|\b[A-Z]{1,2}\d[A-Z\d]?\s\d[A-Z]{2}\b|\b[1-9]\d{3}\s?(?!AM|PM)[A-Z]{2}\b"
)
_PLAIN_NUMBER = re.compile(r"\d+(?:[.,]\d+)*")
_LONGEST_NUMBER = 8  # digits of a number that is no date; a longer one may be anybody's


def shape(text: str) -> str:
    """Letters as A and a, digits as 9, everything else as it is."""
    return "".join(
        "9" if sign.isdigit() else "A" if sign.isupper() else "a" if sign.isalpha() else sign for sign in text
    )


@lru_cache(maxsize=1 << 16)
def readable_only(text: str, *, is_answer: bool = False) -> str:
    """
    Cell as it is where it holds nothing but what dates, amounts and answers are made of; anything else as its shape.

    A number beside a strange word may be anybody's ("gate 4711"), so it goes with the word.
    """
    words = _WORD.findall(text)
    is_strange = any(word.casefold() not in _WORDS for word in words)
    if is_strange or _is_plate_or_postcode(text) or (is_answer and _SEVERAL_DIGITS.search(text)):
        return shape(text)
    return _DIGITS.sub(_harmless, text)


def _is_plate_or_postcode(text: str) -> bool:
    found = _PLATE_OR_POSTCODE.search(text)
    # A month between two numbers is a date: 04-MAR-26.
    return found is not None and (found["between"] or "").casefold() not in _NAMES_OF_DAYS_AND_MONTHS


def _harmless(match: re.Match[str]) -> str:
    found = match.group()
    many = sum(sign.isdigit() for sign in found) > _LONGEST_NUMBER
    if not many or _DATE.fullmatch(found.strip()) or _FRACTION.fullmatch(found.strip()):
        return found
    # Nines alone would be read as a number.
    return f"[{shape(found)}]" if _PLAIN_NUMBER.fullmatch(found) else shape(found)


def readable(cells: pl.Series, *, is_answer: bool = False) -> pl.Series:
    """Apply `readable_only` to a column; most cells pass at one look."""
    plain = _PLAIN_ANSWER if is_answer else _PLAIN
    odd = (~cells.str.contains(plain)).fill_null(value=False).arg_true()
    if not len(odd):
        return cells
    close = [readable_only(text, is_answer=is_answer) for text in cells.gather(odd).to_list()]
    return cells.clone().scatter(odd, pl.Series(close, dtype=pl.String))
