"""Lines of an invoice that are no part: labour, call-out, sundries, tax and their like."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.vocabulary import LANGUAGES, NO_PARTS, in_language, normal_form, shops_own

_NUMBER_OR_SIGN = re.compile(r"[\d.,]+\s*(?:%|h\b|hrs?\b|mins?\b|km\b)?|[^\w\s]")

_WORD_OR_SIGN = re.compile(r"[\w/&-]+|[^\w\s]")


@dataclass(frozen=True)
class NoParts:
    """
    Words that are no part.

    Attributes
    ----------
    words : frozenset of str
        One of them must be there, in normal form.
    beside : frozenset of str
        What else may stand there.
    """

    words: frozenset[str]
    beside: frozenset[str]

    def __contains__(self, text: str) -> bool:
        """Whether a part number or name says that the line is no part."""
        form = normal_form(text)
        if form in self.words:
            return True
        words = _WORD_OR_SIGN.findall(form)
        if self._first_words.isdisjoint(words):
            return False
        rest = _without(f" {'  '.join(words)} ", self._long_first)
        return rest is not None and not _NUMBER_OR_SIGN.sub(" ", _without(rest, self._beside) or rest).strip()

    @cached_property
    def _long_first(self) -> tuple[str, ...]:
        return _long_first(self.words)

    @cached_property
    def _beside(self) -> tuple[str, ...]:
        return _long_first(self.beside)

    @cached_property
    def _first_words(self) -> frozenset[str]:
        """What one of the words must begin with: rules nearly every part out at one look."""
        return frozenset(_WORD_OR_SIGN.findall(word)[0] for word in self.words)


def no_parts(folder: Path | None = None) -> NoParts:
    """
    The starter words and the shop's own `no_parts.toml`.

    Raises
    ------
    UnreadableError
        If the shop's file is not of the form of `no_parts.toml`.
    """
    starter = _starter()
    own = shops_own(folder, NO_PARTS, _of, 'It has words = ["labour", …] and beside = ["charge", …].')
    if own is None:
        return starter
    return NoParts(starter.words | own.words, starter.beside | own.beside)


@cache
def _starter() -> NoParts:
    english = _of(
        tomllib.loads(resources.files("pipeline.vocabulary").joinpath(f"{NO_PARTS}.toml").read_text("utf-8"))
    )
    foreign = {
        normal_form(word) for language in LANGUAGES for word in in_language(language)["no_parts"]["words"]
    }
    return NoParts(english.words | foreign, english.beside)


def _of(content: dict[str, Any]) -> NoParts:
    lists = {name: content.pop(name, []) for name in ("words", "beside")}
    if content or not all(isinstance(words, list) for words in lists.values()):
        raise TypeError("not two lists of words")
    return NoParts(*(frozenset(normal_form(str(word)) for word in words) for words in lists.values()))


def _long_first(words: frozenset[str]) -> tuple[str, ...]:
    """Words with a space before and behind each of their parts, longer ones first."""
    return tuple(
        sorted((f" {'  '.join(_WORD_OR_SIGN.findall(word))} " for word in words), key=len, reverse=True)
    )


def _without(text: str, words: tuple[str, ...]) -> str | None:
    """Spaced text without the words of a list; None where none of them is there."""
    left = text
    for word in words:
        left = left.replace(word, " ")
    return left if left != text else None
