"""Words of the trade and what they mean, as TOML: one file per column, the shop's own files win."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

import polars as pl

from pipeline.errors import UnreadableError
from pipeline.standard_log import columns_of_kind

Own = TypeVar("Own")
# Columns that answer yes or no share one file.
YES_NO = "yes_no"
SAFETY = "safety"
NO_PARTS = "no_parts"
# They have a form of their own.
PAPERWORK = "paperwork"
CHECK_MINUTES = "check_minutes"
FUNCTION_GROUP = "function_group"
# Words of other languages; of two that would mean different things the earlier language's stays, English before all.
LANGUAGES = ("german", "dutch", "french")
_OF_THEIR_OWN_FORM = (NO_PARTS, CHECK_MINUTES, FUNCTION_GROUP)
_OTHER_FILES = (SAFETY, PAPERWORK, *_OF_THEIR_OWN_FORM, *(f"in_{language}" for language in LANGUAGES))
# Columns whose words are looked for in a note. Kinds of machine and payers say nothing about the fault.
NOTE_COLUMNS = ("symptom", "finding", "mechanism", "cause", "action", "outcome")
# A note is read for whole words; shorter ones ("n/d", "ok") mean too many things in running text.
SHORTEST_TERM = 4
# One word of another language may be a word of this one with another meaning ("sent", "tape").
SHORTEST_FOREIGN = 7
# What Python splits texts at.
_BLANKS = r"[\s\x1c-\x1f]+"
_ENDS = " \t\r\n.,;:!?*'\"()[]"


@dataclass(frozen=True)
class Words:
    """
    What one column's words mean.

    Attributes
    ----------
    column : str
        Column of the standard log, or `yes_no`.
    standard : frozenset of str
        The meanings themselves.
    other : dict of str to str
        Other ways of writing, in normal form, to the meaning.
    is_closed : bool
        Whether the column has a closed list, so that any other word waits to be settled.
    outside : frozenset of str
        Meanings that name a cause outside the machine.
    ignored : frozenset of str
        Phrases that look like a meaning and are none ("no leak").
    own : frozenset of str
        Ways of writing that the shop itself settled.
    new : frozenset of str
        Meanings that only the shop has.
    foreign : frozenset of str
        Ways of writing in other languages than English.
    """

    column: str
    standard: frozenset[str]
    other: Mapping[str, str]
    is_closed: bool
    outside: frozenset[str]
    ignored: frozenset[str]
    own: frozenset[str] = frozenset()
    new: frozenset[str] = frozenset()
    foreign: frozenset[str] = frozenset()

    @cached_property
    def known(self) -> Mapping[str, str]:
        """Every form that is settled, to its meaning."""
        return {
            **self.other,
            **{form: form for form in self.standard},
            **{form: self.other[form] for form in self.own},
        }

    def meaning(self, phrase: str) -> str | None:
        """Meaning of a phrase in normal form; None when nothing settles it."""
        return self.known.get(phrase) or self.known.get(_loose(phrase))


def normal_form(text: str) -> str:
    """A phrase as it is compared: NFKC, no case, single spaces, no punctuation at its ends."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split()).strip(_ENDS)


def normal_forms(texts: pl.Series) -> pl.Series:
    """`normal_form` of many texts at a time: plain ones by column, those with other signs than ASCII one by one."""
    plain = (
        pl.col("text")
        .str.to_lowercase()
        .str.replace_all(_BLANKS, " ")
        .str.strip_chars(" ")
        .str.strip_chars(_ENDS)
    )
    is_ascii = texts.str.len_bytes() == texts.str.len_chars()
    forms = texts.rename("text").to_frame().select(plain).to_series()
    if is_ascii.all():
        return forms
    others = texts.filter(~is_ascii)
    read = pl.Series([normal_form(text) for text in others.to_list()], dtype=pl.String)
    return forms.scatter((~is_ascii).arg_true(), read)


def loose_forms(forms: pl.Series) -> pl.Series:
    """Normal forms in which hyphens, slashes and underscores between words read as spaces."""
    apart = pl.col("form").str.replace_all(r"[-_/]+", " ").str.replace_all(_BLANKS, " ").str.strip_chars(" ")
    return forms.rename("form").to_frame().select(apart).to_series()


def vocabulary(folder: Path | None = None) -> Mapping[str, Words]:
    """
    Words by column, the shop's own files laid over the starter files.

    Parameters
    ----------
    folder : Path or None
        The shop's vocabulary folder; a missing one is empty.

    Raises
    ------
    UnreadableError
        If one of the shop's files is no TOML or not of the form described in `symptom.toml`.
    """
    words = dict(_starter())
    if folder is None or not folder.is_dir():
        return words
    for path in sorted(folder.glob("*.toml")):
        if path.stem in _OF_THEIR_OWN_FORM:
            continue
        own = _words(path.stem, _shop_file(path), str(path))
        base = words.get(path.stem)
        words[path.stem] = own if base is None else _laid_over(base, own)
    return words


def known_terms(folder: Path | None = None) -> tuple[str, ...]:
    """Every term that a note is read for, longest first so that a longer one is found before its parts."""
    words = vocabulary(folder)
    terms = {term for name in NOTE_COLUMNS if name in words for term in terms_in_text(words[name])}
    terms |= {phrase for phrases in (*safety_words().values(), *no_danger_words()) for phrase in phrases}
    return tuple(
        sorted((term for term in terms if len(term) >= SHORTEST_TERM), key=lambda term: (-len(term), term))
    )


@cache
def known_words() -> frozenset[str]:
    """Every single word of the starter vocabulary, whatever its column."""
    terms = {term for words in _starter().values() for term in _terms(words)} | set(known_terms())
    return frozenset(word for term in terms for word in re.findall(r"[^\W\d_]+", term.casefold()))


@cache
def safety_words() -> Mapping[str, tuple[str, ...]]:
    """Phrases that report a danger, by kind of danger (measure book, section 15)."""
    return {kind: _normal_forms(phrases) for kind, phrases in safety_rules()["dangers"].items()}


def no_danger_words() -> tuple[tuple[str, ...], ...]:
    """Phrases that hold a word of danger and report none; a note keeps them whole ("shock absorber")."""
    spaced = [_normal_forms(phrases) for phrases in safety_rules()["no_danger"].values()]
    return tuple((*phrases, *(phrase.replace(" ", "-") for phrase in phrases)) for phrases in spaced)


@cache
def safety_rules() -> Mapping[str, Any]:
    """What `safety.toml` says; `pipeline.vocabulary.dangers` reads texts by it."""
    text = resources.files(__name__).joinpath(f"{SAFETY}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _normal_forms(phrases: list[str]) -> tuple[str, ...]:
    return tuple(normal_form(phrase) for phrase in phrases)


@cache
def standard_values(column: str) -> tuple[str, ...]:
    """Meanings that the starter file of a column names, in the order of the file; none where there is no file."""
    texts = dict(_starter_texts())
    name = _name_of(column)
    return tuple(tomllib.loads(texts[name])["means"]) if name in texts else ()


def is_closed(column: str) -> bool:
    """Whether a column has a closed list, so that any other word waits to be settled."""
    words = _starter().get(_name_of(column))
    return words is not None and words.is_closed


def _name_of(column: str) -> str:
    return YES_NO if column in columns_of_kind("log", "yes_no") else column


def outside_causes(folder: Path | None = None) -> frozenset[str]:
    """Findings and causes that lie outside the machine."""
    return frozenset().union(*(words.outside for words in vocabulary(folder).values()))


@cache
def in_language(language: str) -> Mapping[str, Any]:
    """What the file of one of `LANGUAGES` says: means by column, ignored phrases by column, words of no part."""
    text = resources.files(__name__).joinpath(f"in_{language}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _starter() -> Mapping[str, Words]:
    english = {
        name: _words(name, tomllib.loads(text), name)
        for name, text in _starter_texts()
        if name not in _OTHER_FILES
    }
    return {name: _with_languages(words) for name, words in english.items()}


def _with_languages(words: Words) -> Words:
    """Words with those of other languages that do not mean something else already."""
    other, ignored = dict(words.other), set(words.ignored)
    for language in LANGUAGES:
        said = in_language(language)
        ignored |= {normal_form(phrase) for phrase in said["ignored"].get(words.column, ())}
        for meaning, ways in said["means"].get(words.column, {}).items():
            for form in map(normal_form, ways):
                if form not in words.standard:
                    other.setdefault(form, meaning)
    foreign = frozenset(other.keys() - words.other.keys()) | (ignored - words.ignored)
    return replace(words, other=other, ignored=frozenset(ignored), foreign=foreign)


def _starter_texts() -> Iterator[tuple[str, str]]:
    for entry in resources.files(__name__).iterdir():
        if entry.name.endswith(".toml"):
            yield entry.name.removesuffix(".toml"), entry.read_text(encoding="utf-8")


def _terms(words: Words) -> Iterator[str]:
    yield from words.standard
    yield from words.other
    yield from words.ignored


def terms_in_text(words: Words) -> Iterator[str]:
    """Terms of a column that can be told in running text: not too short, no single foreign word that may be English."""
    for term in _terms(words):
        if term in words.foreign and " " not in term and len(term) < SHORTEST_FOREIGN:
            continue
        if len(term) >= SHORTEST_TERM:
            yield term


def _loose(phrase: str) -> str:
    """Hyphens, slashes and underscores between words read as spaces."""
    return " ".join(re.sub(r"[-_/]+", " ", phrase).split())


def shops_own(folder: Path | None, name: str, of: Callable[[dict[str, Any]], Own], form: str) -> Own | None:
    """
    What the shop's own file of a form of its own says; None where it has none.

    Parameters
    ----------
    folder : Path or None
        The shop's vocabulary folder.
    name : str
        Name of the file without its ending.
    of : callable
        Makes of the content what is wanted; a TypeError says what is wrong with it.
    form : str
        Sentence that says what such a file has.

    Raises
    ------
    UnreadableError
        If the file is no TOML or not of that form.
    """
    path = folder / f"{name}.toml" if folder is not None else None
    if path is None or not path.is_file():
        return None
    try:
        return of(tomllib.loads(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, TypeError) as error:
        raise UnreadableError(f"{path} could not be read: {error}. {form}") from None


def _shop_file(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UnreadableError(f"{path} could not be read: {error}. Mend or remove it.") from None


def _words(column: str, content: dict[str, Any], where: str) -> Words:
    means = content.get("means", {})
    if not isinstance(means, dict) or not all(isinstance(ways, list) for ways in means.values()):
        raise UnreadableError(
            f'{where}: under [means], each line must be "meaning" = ["other way of writing", …].'
        )
    pairs = [(normal_form(str(way)), meaning) for meaning, ways in means.items() for way in ways]
    doubtful = {
        way for way, meaning in pairs if any(way == other and meaning != wanted for other, wanted in pairs)
    }
    if doubtful:
        raise UnreadableError(f'{where}: "{min(doubtful)}" is given two meanings.')
    outside = frozenset(content.get("outside", []))
    return Words(
        column=column,
        standard=frozenset(means),
        other=dict(pairs),
        is_closed=bool(content.get("closed", False)),
        outside=outside,
        ignored=frozenset(normal_form(phrase) for phrase in content.get("ignored", [])),
    )


def _laid_over(base: Words, own: Words) -> Words:
    return Words(
        column=base.column,
        standard=base.standard | own.standard,
        other={**base.other, **own.other},
        is_closed=base.is_closed,
        outside=base.outside | own.outside,
        ignored=base.ignored | own.ignored,
        own=frozenset(own.other),
        new=own.standard - base.standard,
        foreign=base.foreign - own.other.keys(),
    )
