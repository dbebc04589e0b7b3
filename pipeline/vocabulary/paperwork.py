"""Words about paperwork that stand where the outcome of a visit should: an invoice does not say that a machine works."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources

from pipeline.vocabulary import Words, normal_form

_LETTERS = re.compile(r"[^\W\d_]+")


@cache
def _lists() -> tuple[frozenset[str], frozenset[str]]:
    text = resources.files("pipeline.vocabulary").joinpath("paperwork.toml").read_text(encoding="utf-8")
    content = tomllib.loads(text)
    return frozenset(content["words"]), frozenset(content["beside"])


def is_paperwork(phrase: str, words: Words) -> bool:
    """
    Whether a phrase says something about papers only.

    Parameters
    ----------
    phrase : str
        As the file has it.
    words : Words
        Vocabulary of outcomes; what it settles is no paperwork.
    """
    form = normal_form(phrase)
    if words.meaning(form) is not None:
        return False
    papers, beside = _lists()
    said = set(_LETTERS.findall(form))
    return bool(said & papers) and said <= papers | beside
