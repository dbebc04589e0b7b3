"""
Which dangers a text reports: shock, smoke, fire, gas, flood, burning smell (`safety.toml`).

A report is never negated away: what stands before or after the words does not matter.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache

import polars as pl

from pipeline.vocabulary import safety_rules, safety_words

SEVERAL = "; "
# Words that may stand between two words that say it together.
_BETWEEN = 4
# Words in most texts of the trade: looking for them would stop at every text.
_COMMON = frozenset({"machine", "water", "kitchen", "leak", "leaking", "body", "case"})
# What joins words to a phrase; any other sign ends it.
_GAP = r"[\s,]+"
_JOINING = r"[-‐‑–_/'’`]+"


def dangers_of(texts: pl.Series) -> pl.Series:
    """
    Dangers that each text reports, in the order of `safety.toml`, joined by "; ".

    Parameters
    ----------
    texts : series of text
        Whole texts, in any spelling. Only those that hold part of a word of danger are read closely.

    Returns
    -------
    series of text
        Null where nothing is reported.
    """
    suspicious = texts.is_not_null() & (
        texts.str.contains_any(list(_stems()), ascii_case_insensitive=True)
        | (texts.str.len_bytes() != texts.str.len_chars())
    )
    places = suspicious.fill_null(value=False).arg_true()
    found = pl.Series(texts.name, [None], dtype=pl.String).new_from_index(0, len(texts))
    return found.scatter(places, _read(texts.gather(places))) if len(places) else found


def danger_rules() -> tuple[Mapping[str, str], str]:
    """
    The patterns by danger, and that of what only looks like one; for texts as `compared` writes them.

    They are of the kind that every usual engine reads the same, so that a page without a server can use them too.
    """
    return _patterns(), _no_danger()


def report_words() -> Mapping[str, str]:
    """The phrase that stands for each danger where the text itself is not kept."""
    return {
        danger: next(phrase for phrase in phrases if " " in phrase or phrase == danger)
        for danger, phrases in safety_words().items()
    }


@cache
def cut_out_names() -> frozenset[str]:
    """Names of thermal cut-outs, compared as `compared` writes them."""
    names = pl.Series(safety_rules()["thermal_cut_out"]["names"], dtype=pl.String)
    return frozenset(compared(names).to_list())


def is_safety_part(names: pl.Series) -> pl.Series:
    """Which names of parts hold the name of a part that keeps people safe; booleans, none is null."""
    rules = safety_rules()
    known = [*rules["safety_part"]["names"], *rules["thermal_cut_out"]["names"]]
    return compared(names).str.contains(rf"\b{_any_of(known)}\b").fill_null(value=False)


def compared(texts: pl.Series) -> pl.Series:
    """Texts as they are compared: no case, no accents, words that a hyphen, slash or apostrophe joins stand apart."""
    return (
        texts.str.normalize("NFKD")
        .str.replace_all(r"\p{Mn}", "")
        .str.to_lowercase()
        .str.replace_all(_JOINING, " ")
        .str.replace_all(r"\s+", " ")
        .str.strip_chars(' .,;:!?*()[]"')
    )


def _read(texts: pl.Series) -> pl.Series:
    plain = compared(texts).str.replace_all(_no_danger(), " | ")
    told = [
        pl.when(pl.col("text").str.contains(pattern)).then(pl.lit(danger))
        for danger, pattern in _patterns().items()
    ]
    joined = pl.DataFrame({"text": plain}).select(pl.concat_str(told, separator=SEVERAL, ignore_nulls=True))
    return joined.to_series().replace("", None)


@cache
def _patterns() -> dict[str, str]:
    """One pattern a danger, within what Polars' expressions know."""
    rules = safety_rules()
    patterns = {danger: [_any_of(phrases)] for danger, phrases in rules["dangers"].items()}
    for danger, rule in rules["together"].items():
        one, other = _any_of(rule["one"]), _any_of(rule["other"])
        between = rf"{_GAP}(?:[^\s,.;:!?|]+{_GAP}){{0,{_BETWEEN}}}"
        patterns[danger] += [f"{one}{between}{other}", f"{other}{between}{one}"]
    for danger, rule in rules["in_order"].items():
        small = f"(?:{_any_of(rule['between'])}{_GAP})*"
        patterns[danger].append(f"{_any_of(rule['first'])}{_GAP}{small}{_any_of(rule['then'])}")
    return {danger: rf"\b(?:{'|'.join(ways)})\b" for danger, ways in patterns.items()}


@cache
def _no_danger() -> str:
    return rf"\b{_any_of(phrase for phrases in safety_rules()['no_danger'].values() for phrase in phrases)}\b"


@cache
def _stems() -> tuple[str, ...]:
    """For each way of saying it a word it cannot be said without."""
    rules = safety_rules()
    ways = [phrase for phrases in rules["dangers"].values() for phrase in phrases]
    ways += [word for rule in rules["together"].values() for word in rule["one"]]
    ways += [word for rule in rules["in_order"].values() for word in rule["then"]]
    words = {_rarest(way) for way in compared(pl.Series(ways, dtype=pl.String)).to_list()}
    # A word that holds another one is found by it.
    return tuple(sorted(word for word in words if not any(other in word for other in words - {word})))


def _rarest(phrase: str) -> str:
    return max((word for word in phrase.split() if word not in _COMMON), key=len)


def _any_of(phrases: Iterable[str]) -> str:
    """Any of some phrases, the longer ones first; single spaces stand for whatever joins words."""
    written = compared(pl.Series(list(phrases), dtype=pl.String)).unique().to_list()
    ordered = sorted(written, key=lambda phrase: (-len(phrase), phrase))
    return f"(?:{'|'.join(_GAP.join(re.escape(word) for word in phrase.split()) for phrase in ordered)})"
