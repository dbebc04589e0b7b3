"""Which known wordings come nearest to what was typed, misspelled or not: by beginnings of words, letters changed, letters in threes."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping

# Below that a wording is no suggestion.
NEAR = 0.55
# A meaning that much less near than the nearest is no suggestion either.
BEHIND = 0.25
# What each word of a wording that nobody typed costs.
EXTRA = 0.06


def plain(text: str) -> str:
    """Letters and digits without accents and case, single spaces between words; an apostrophe joins."""
    whole = unicodedata.normalize("NFKD", text.casefold().replace("ß", "ss"))
    kept = "".join("" if sign in "'’`" or unicodedata.combining(sign) else sign for sign in whole)
    return " ".join("".join(sign if sign.isalnum() else " " for sign in kept).split())


def nearest(typed: str, wordings: Mapping[str, str], most: int = 6) -> list[str]:
    """
    Meanings whose wordings come nearest to what was typed, nearest first.

    Parameters
    ----------
    typed : str
        As it was typed so far.
    wordings : mapping of str to str
        Ways of writing, as `plain` gives them, with their meanings.
    most : int
        How many meanings.
    """
    words = plain(typed).split()
    if not words:
        return []
    best: dict[str, float] = {}
    for wording, meaning in wordings.items():
        score = likeness(words, wording.split())
        if score >= NEAR and score > best.get(meaning, 0.0):
            best[meaning] = score
    least = max(best.values(), default=0.0) - BEHIND
    near = [meaning for meaning, score in best.items() if score >= least]
    return sorted(near, key=lambda meaning: (-best[meaning], meaning))[:most]


def likeness(typed: Iterable[str], wording: Iterable[str]) -> float:
    """How well the words typed are found in a wording, 0 … 1: long words count for more, words left over cost a little."""
    typed, left = list(typed), list(wording)
    total = weight = 0.0
    for word in typed:
        scores = [word_likeness(word, other) for other in left]
        best = max(scores, default=0.0)
        if best > 0.0:
            left.pop(scores.index(best))
        total += best * len(word)
        weight += len(word)
    return max(0.0, total / weight - EXTRA * len(left)) if weight else 0.0


def word_likeness(typed: str, word: str) -> float:
    """1 for the same word, a little less for its beginning, else the better of letters changed and letters in threes."""
    if typed == word:
        return 1.0
    if len(typed) >= 2 and word.startswith(typed):
        return 0.95
    if min(len(typed), len(word)) < 2:
        return 0.0
    changed = 1.0 - steps_between(typed, word) / max(len(typed), len(word))
    return max(0.0, changed, threes(typed, word), *_beginnings(typed, word))


def _beginnings(typed: str, word: str) -> list[float]:
    """A word not yet typed to its end, misspelled: letters changed against as much of it, or one letter more."""
    if len(typed) < 4:
        return []
    ends = [at for at in (len(typed), len(typed) + 1) if at < len(word)]
    return [0.95 * (1.0 - steps_between(typed, word[:at]) / at) for at in ends]


def steps_between(one: str, other: str) -> int:
    """Letters to put in, take out, change, or swap with their neighbour (optimal string alignment)."""
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, a in enumerate(one, start=1):
        row = [i]
        for j, b in enumerate(other, start=1):
            steps = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                steps = min(steps, before[j - 2] + 1)
            row.append(steps)
        before, last = last, row
    return last[-1]


def threes(one: str, other: str) -> float:
    """Share of groups of three letters that two words have in common (Dice, 1945, Ecology 26, 297-302)."""
    first, second = _threes(one), _threes(other)
    return 2.0 * len(first & second) / (len(first) + len(second))


def _threes(word: str) -> set[str]:
    padded = f"  {word} "
    return {padded[at : at + 3] for at in range(len(padded) - 2)}
