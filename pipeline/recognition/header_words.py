"""What the words of a header say: which standard column it may name, or why nothing is made from it."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher
from functools import cache
from importlib import resources
from typing import Any

EXACT = 5.0  # what a header that is a listed phrase weighs
NO = "no"
PAIR = "+"  # between two tokens that only mean something together
# Abbreviations of two letters mean too many things; compounds are looked into for words of some length.
SHORTEST_START, SHORTEST_WITHIN = 3, 5
SAME_SPELLING = 0.86
START, SPELLING, WITHIN = (
    0.75,
    0.8,
    0.7,
)  # what a token weighs that is only the start, nearly the spelling, or within
_UNIT = re.compile(r"[(\[{]\s*([^)\]}]*)\s*[)\]}]")
_CAMEL = re.compile(r"(?<=[a-zäöüéèà])(?=[A-ZÄÖÜ])")
_NUMBER_SIGN = re.compile(r"\bn\s?[°º](?!\w)|№", re.IGNORECASE)
_TOKEN = re.compile(r"[^\W_]+|#")


@cache
def listed() -> Mapping[str, Any]:
    """What `headers.toml` says."""
    text = resources.files("pipeline.recognition").joinpath("headers.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def unit_of(header: str) -> str:
    """What stands in brackets: "Time (min)" gives "min"."""
    found = _UNIT.search(header)
    return found.group(1).strip() if found else ""


def tokens(header: str) -> tuple[str, ...]:
    """Words of a header as they are compared, without what stands in brackets and without words that say nothing."""
    header = _NUMBER_SIGN.sub(" no ", header)
    plain = unicodedata.normalize("NFKC", _CAMEL.sub(" ", _UNIT.sub(" ", header))).casefold()
    plain = "".join(sign for sign in unicodedata.normalize("NFD", plain) if not unicodedata.combining(sign))
    filler, numbers = listed()["tokens"]["filler"], listed()["tokens"]["no"]
    said = [NO if token in numbers else token for token in _paired(_TOKEN.findall(plain))]
    return tuple(token for token in said if token not in filler) or tuple(said)


def _paired(said: list[str]) -> list[str]:
    """Tokens of which two that only mean something together are one: "time in" is no time."""
    pairs = listed()["tokens"]["pairs"]
    found: list[str] = []
    for token in said:
        if found and f"{found[-1]} {token}" in pairs:
            found[-1] += PAIR + token
        else:
            found.append(token)
    return found


def is_listed(header: str) -> bool:
    """Whether a header is, word for word, one of the list."""
    return any(tokens(header) == phrase for phrases in _phrases().values() for phrase in phrases)


@cache
def scores(header: str) -> Mapping[str, float]:
    """
    How well the words of a header name each column, from 0 to `EXACT`; columns that they do not name are left out.

    A reason for leaving out has "no:" before it. A standard column's own name counts as listed.
    """
    said = tokens(header)
    if not said:
        return {}
    found = {
        target: max(_likeness(said, phrase) for phrase in phrases) for target, phrases in _phrases().items()
    }
    return {target: EXACT * likeness for target, likeness in found.items() if likeness > 0}


@cache
def _phrases() -> Mapping[str, tuple[tuple[str, ...], ...]]:
    return dict(_all_phrases())


def _all_phrases() -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
    for column, phrases in listed()["columns"].items():
        yield column, tuple(tokens(phrase) for phrase in (column, *phrases))
    for reason, phrases in listed()["left_out"].items():
        yield f"no:{reason}", tuple(tokens(phrase) for phrase in phrases)


def _likeness(said: tuple[str, ...], phrase: tuple[str, ...]) -> float:
    """1 where both are the same; less where a word is shortened or others stand beside it; 0 where one is missing."""
    if said == phrase:
        return 1.0
    matched, used = 0.0, 0
    for word in phrase:
        best = max((_same(token, word) for token in said), default=0.0)
        if not best:
            return 0.0
        matched += best
        used += 1
    if phrase == (NO,):
        return 0.0
    beside = min(1.0, used / len(said))
    return 0.95 * matched / len(phrase) * (0.45 + 0.55 * beside)


@cache
def _same(token: str, word: str) -> float:
    if token == word:
        return 1.0
    if NO in (token, word) or PAIR in token + word:
        return 0.0
    shorter, longer = sorted((token, word), key=len)
    if len(shorter) >= SHORTEST_START and longer.startswith(shorter):
        return START
    if len(word) >= SHORTEST_WITHIN and word in token:
        return WITHIN
    is_near = token[0] == word[0] and len(longer) - len(shorter) <= 2
    if (
        is_near
        and len(shorter) >= SHORTEST_WITHIN
        and SequenceMatcher(None, token, word).ratio() >= SAME_SPELLING
    ):
        return SPELLING
    return 0.0
