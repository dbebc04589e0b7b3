"""Every way in which a symptom may be typed by whoever asks about it: the vocabulary's, and other languages'."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from functools import cache
from importlib import resources
from pathlib import Path

from pipeline.vocabulary import SPOKEN, vocabulary
from pipeline.vocabulary.nearest import plain


@cache
def spoken() -> Mapping[str, Mapping[str, tuple[str, ...]]]:
    """Other languages' wordings: by language (ISO 639-1), by meaning."""
    text = resources.files("pipeline.vocabulary").joinpath(f"{SPOKEN}.toml").read_text(encoding="utf-8")
    return {
        language: {meaning: tuple(ways) for meaning, ways in means.items()}
        for language, means in tomllib.loads(text).items()
    }


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
    for means in spoken().values():
        for meaning, ways in means.items():
            for way in ways if meaning in meanings else ():
                found.setdefault(plain(way), meaning)
    return found
