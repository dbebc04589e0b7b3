"""
Short texts that are kept lose what looks like a person, a number to reach one, an address or a way in.

What looks so becomes `[removed]`. Trade words, part numbers, fault codes and readings stay: every pattern asks for
company (a title before a name, a word of access near digits) or for a length that no reading has.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from functools import cache, lru_cache

import phonenumbers
import polars as pl

from pipeline.intake.names import LIGHTLY_NAMED, LOOKS_NAMED, is_known, without_names
from pipeline.intake.scrub_patterns import (
    BETWEEN_WORDS,
    CALL,
    DATES,
    LIGHTLY_SUSPICIOUS,
    NUMBER,
    PATTERNS,
    REGIONS,
    REMOVED,
    SMALL_WORDS,
    SUSPICIOUS,
    Care,
)
from pipeline.intake.written_otherwise import MAY_BE_WRITTEN_OTHERWISE, WRITTEN_OTHERWISE
from pipeline.vocabulary import known_words

SHORTEST_CARD_NUMBER = 15  # digits; the longest number of an article (GTIN) has 14
LONGEST_NUMBER_OF_A_PART = 8  # digits; a longer run in running text is taken for somebody's number

# Looks of their own, never one: what one says about capitals does not hold for the other, and together they are two
# hundred times as slow, because the automaton of both has too many states to be kept.
_LOOKS: dict[Care, tuple[str, ...]] = {
    "light": (LIGHTLY_SUSPICIOUS, LIGHTLY_NAMED),
    "make": (SUSPICIOUS, LIGHTLY_NAMED),
    # Most numbers of jobs are passed by at a glance.
    "job": (
        r"[\s@+]|(?i:\(at\)|\[at\])|\p{Ll}{3}|^\p{Lu}{4,}$|[^\x00-\x7f]|^\(?0[1-9][\d/().-]{7,}$|\d{15}",
    ),
    "part": (SUSPICIOUS, LOOKS_NAMED),
    "full": (SUSPICIOUS, LOOKS_NAMED),
}
_LONGEST_UNIT = 4  # letters of "RPM" or "KOHM"


def scrub(text: str, care: Care = "full") -> str:
    """Text with `[removed]` in place of what looks like identity or a way in."""
    return _scrub(text, care)


@lru_cache(maxsize=1 << 16)
def _scrub(text: str, care: Care) -> str:
    for pattern in PATTERNS[care]:
        text = pattern.sub(_keeping, text)
    if care in WRITTEN_OTHERWISE and MAY_BE_WRITTEN_OTHERWISE.search(text):
        for pattern in WRITTEN_OTHERWISE[care]:
            text = pattern.sub(_keeping, text)
    text = NUMBER.sub(_number_remover(care, text), text)
    return without_names(text, care)


def scrubbed(texts: pl.Series, care: Care = "full", spared: Collection[str] = ()) -> pl.Series:
    """
    Scrub a column of texts in memory; only suspicious ones are looked at closely.

    Parameters
    ----------
    texts : series of text
        Cells as written.
    care : str
        How closely they are looked at.
    spared : collection of str
        Whole cells that stay, in lower case: a person said in the layout what they mean.
    """
    # One text stands in many rows: each is looked at once.
    suspicious = [
        text for text in _suspicious(texts.drop_nulls().unique(), care) if not _is_spared(text, spared)
    ]
    changed = {text: close for text in suspicious if (close := scrub(text, care)) != text}
    if not changed:
        return texts
    return texts.replace(list(changed), list(changed.values()))


def _suspicious(distinct: pl.Series, care: Care) -> list[str]:
    """Texts that one quick look or the other finds something in."""
    found = pl.any_horizontal(pl.col("text").str.contains(look) for look in _LOOKS[care])
    return pl.DataFrame({"text": distinct}).filter(found).get_column("text").to_list()


def _is_spared(text: str, spared: Collection[str]) -> bool:
    return text.strip().casefold() in spared


def _keeping(match: re.Match[str]) -> str:
    """What a pattern wants kept (the title, the word of access) stays beside the mark of removal."""
    groups = match.groupdict()
    keep = groups.get("keep") or ""
    if groups.get("town"):
        town = groups["town"]
        return match.group() if is_known(town) or (town.isupper() and len(town) <= _LONGEST_UNIT) else REMOVED
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
    return (known_words() | set(SMALL_WORDS.split())) - set(BETWEEN_WORDS.split())


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
    if care in ("job", "part") and found == digits:
        # A whole run of digits in a part's name is its number, unless it is dialled like a telephone's.
        is_dialled = len(digits) in {10, 11} and found[0] == "0" and found[1] != "0"
        return is_dialled or len(digits) >= SHORTEST_CARD_NUMBER
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
