"""Every way in which a symptom may be typed by whoever asks about it: the vocabulary's, and other languages'."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from pipeline.vocabulary import LANGUAGES, in_language, vocabulary
from pipeline.vocabulary.nearest import plain


def wordings(meanings: Collection[str], folder: Path | None = None) -> dict[str, str]:
    """
    Ways of typing some symptoms, as `plain` gives them, with their meanings.

    Parameters
    ----------
    meanings : collection of str
        The symptoms that can be asked for; each is its own wording first.
    folder : Path or None
        The shop's vocabulary folder.

    Returns
    -------
    dict of str to str
        One that two languages use for two things keeps the meaning of the first, English before the others.
    """
    found = {plain(meaning): meaning for meaning in meanings}
    words = vocabulary(folder)["symptom"]
    for way, meaning in words.other.items():
        if meaning in meanings:
            found.setdefault(plain(way), meaning)
    # A wording that the vocabulary gives to another symptom may still be asked for in its own language.
    for language in LANGUAGES:
        for meaning, ways in in_language(language)["means"]["symptom"].items():
            for way in ways if meaning in meanings else ():
                found.setdefault(plain(way), meaning)
    return found
