"""
Short texts that are kept lose what looks like a person, a number to reach one, an address or a way in.

What looks so becomes `[removed]`. Trade words, part numbers, fault codes and readings stay: every pattern asks for
company (a title before a name, a word of access near digits) or for a length that no reading has.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, lru_cache

import phonenumbers
import polars as pl

from pipeline.intake.scrub_patterns import (
    BETWEEN_WORDS,
    CALL,
    DATES,
    LIGHTLY_SUSPICIOUS,
    NUMBER,
    PATTERNS,
    REGIONS,
    SMALL_WORDS,
    SUSPICIOUS,
    Care,
)
from pipeline.vocabulary import known_terms

REMOVED = "[removed]"
LONGEST_NUMBER_OF_A_PART = 8  # digits; a longer run in running text is taken for somebody's number


def scrub(text: str, care: Care = "full") -> str:
    """Text with `[removed]` in place of what looks like identity or a way in."""
    return _scrub(text, care)


@lru_cache(maxsize=1 << 16)
def _scrub(text: str, care: Care) -> str:
    for pattern in PATTERNS[care]:
        text = pattern.sub(_keeping, text)
    return NUMBER.sub(_number_remover(care, text), text)


def scrubbed(texts: pl.Series, care: Care = "full") -> pl.Series:
    """Scrub a column of texts in memory; only suspicious ones are looked at closely."""
    look = LIGHTLY_SUSPICIOUS if care == "light" else SUSPICIOUS
    suspicious = texts.str.contains(look).fill_null(value=False).arg_true()
    if not len(suspicious):
        return texts
    close = pl.Series([scrub(text, care) for text in texts.gather(suspicious).to_list()], dtype=pl.String)
    return texts.clone().scatter(suspicious, close)


def _keeping(match: re.Match[str]) -> str:
    """What a pattern wants kept (the title, the word of access) stays beside the mark of removal."""
    groups = match.groupdict()
    keep = groups.get("keep") or ""
    if groups.get("name"):
        return keep + _without_name(groups["name"], at_least=1)
    if groups.get("two"):
        return keep + _without_name(groups["two"], at_least=2)
    if keep and match.string.startswith(keep, match.start()):
        return f"{keep}{REMOVED}"
    return f"{REMOVED}{keep}"


def _without_name(words: str, at_least: int) -> str:
    """
    Words after a title or a role, of which the first ones are a name.

    Where a whole text is in capitals, everything after the name looks like more of it: a word of the trade ends it.
    """
    parts = re.findall(r"\s*\S+", words)
    trade = _trade_words()
    many = next((n for n, part in enumerate(parts) if part.strip(" .,;").casefold() in trade), len(parts))
    many = max(many, 1 if at_least == 1 else 0)
    return words if many < at_least else REMOVED + "".join(parts[many:])


@cache
def _trade_words() -> frozenset[str]:
    """Every single word of the starter vocabulary, and the small words around them."""
    terms = {word for term in known_terms() for word in re.findall(r"[^\W\d_]+", term.casefold())}
    return frozenset(terms | set(SMALL_WORDS.split())) - set(BETWEEN_WORDS.split())


def _number_remover(care: Care, text: str) -> Callable[[re.Match[str]], str]:
    def remove(match: re.Match[str]) -> str:
        found = match.group()
        is_number = _is_somebodys(found, care, called=bool(CALL.search(text, 0, match.start())))
        return REMOVED if is_number else found

    return remove


def _is_somebodys(found: str, care: Care, *, called: bool) -> bool:
    digits = re.sub(r"\D", "", found)
    if found.startswith(("+", "(+")):
        return len(digits) >= 7
    if care == "light" or DATES.fullmatch(found):
        return False
    if called and len(digits) >= 6:
        return True
    if care == "part" and found == digits:
        # A whole run of digits in a part's name is its number, unless it is dialled like a telephone's.
        return len(digits) in {10, 11} and found[0] == "0" and found[1] != "0"
    if len(digits) > LONGEST_NUMBER_OF_A_PART:
        return True
    return found != digits and len(digits) >= 7 and _is_dialled(found)


def _is_dialled(found: str) -> bool:
    """Whether a short grouped number is a telephone number rather than that of a part."""
    if re.match(r"\(?0[1-9]", found):
        return not re.fullmatch(r"[\d.,-]+", found)
    if not re.fullmatch(r"\d{2,3}(?: \d{2,3}){2,}", found):
        return False
    return any(_is_valid(found, region) for region in REGIONS)


def _is_valid(found: str, region: str) -> bool:
    try:
        return phonenumbers.is_valid_number(phonenumbers.parse(found, region))
    except phonenumbers.NumberParseException:
        return False
