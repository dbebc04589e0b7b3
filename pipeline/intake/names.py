"""
Names of people in short texts, found by what stands around them: no list holds every name.

A word is known if the vocabulary, the small words of four languages, or the head of a compound say so. An unknown word
is taken for a name where a given name or an initial stands beside it, where two of them with capitals follow each
other, where one has a capital in the middle of a sentence that uses capitals for little else, or where somebody says,
rings or wants something. What follows "by" or stands alone at the end in two or three capitals is who did the work.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from pipeline.intake.beside_names import ALSO_PERSONS, BEFORE_NAMES, GERMAN, PERSONS, SAYS, SAYS_OF_THINGS
from pipeline.intake.common_words import COMMON_WORDS, HEADS
from pipeline.intake.everyday_things import EVERYDAY_THINGS
from pipeline.intake.given_names import ALSO_WORDS, GIVEN_NAMES
from pipeline.intake.scrub_patterns import BETWEEN_WORDS, REMOVED, SMALL_WORDS, Care
from pipeline.vocabulary import known_words

_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")
_BETWEEN = frozenset(
    (*BETWEEN_WORDS.split(), "af", "al", "ap", "bin", "da", "dos", "du", "el", "ibn", "mac", "mc", "o", "st")
)
_ENDINGS = ("'s", "’s", "s", "es", "ed", "d", "ing", "er", "n", "en", "e", "t")
_SHORTEST_HEADED = 7  # letters of a compound
_SHORTEST = 3
_LONGEST_ABBREVIATION = 4
_OF_ABBREVIATION = re.compile(r"['’]?s$")

_NOT_IN = re.compile(
    r"\s+(?:is\s+|was\s+)?(?:not (?:in|home|at home|there)|out (?:until|till|all)|in hospital|at work|on holiday)\b",
    re.IGNORECASE,
)
_WHO_DID_IT = re.compile(
    r"\b(?P<keep>(?i:(?:seen|done|fitted|attended|signed|checked|repaired) by|by|tech(?:nician)?|engineer|engr?|fitter|mechanic|monteur|techniker|"
    r"technicien|initials?|signed|sig)\b[\s.:=-]*)(?P<who>[A-Z](?:\.?\s?[A-Z]){1,2}\.?)(?![\w-])"
)
# J.S. is somebody; A.C. and O.K. are not.
_STOPPED = re.compile(r"(?<![\w.])(?P<who>[A-Z]\.\s?[A-Z]\.)(?!\w)(?!\s?[A-Z]\.)")
_AT_THE_END = re.compile(r"(?:(?<=[\s,;.])[-–/]\s*|\()(?P<who>[A-Z]{2,3})\)?\s*$")
_SEPARATORS = re.compile(r"[;,/()|]")
_BESIDE_PEOPLE = SAYS | BEFORE_NAMES | PERSONS | ALSO_PERSONS
_INITIAL = re.compile(r"[A-ZÀ-Þ]\.?")

# One quick look that passes most texts by; whatever is found here has one of these.
LOOKS_NAMED = (
    r"\p{Lu}\p{Ll}*['’-]?\p{L}*(?:[.,]?\s+(?:\p{Ll}{1,3}\s+){0,3}|\s*[&,]\s*)\p{Lu}"
    r"|[\pL\d,;:)]\s+\(?\p{Lu}[\p{Ll}'’-]|\p{Ll}\s+\(?\p{Lu}{5}"
    r"|\p{Lu}\.\s?\p{Lu}|[-–/(]\s*\p{Lu}{2,3}\)?\s*$"
    r"|(?i)\b(?:" + "|".join(sorted(SAYS)) + r"|not in|not home|not at home|not there|out until|out till|out all|in hospital|at work|on holiday)\b"
    r"|\b(?:by|tech|technician|engineer|eng|engr|fitter|mechanic|monteur|techniker|technicien|initials?|signed|sig)\b.{0,4}\p{L}\.?\s?\p{L}\b"
    r"|\b(?:" + "|".join(sorted(GIVEN_NAMES)) + r")\b|[\p{L}--a-z]"
)  # fmt: skip

LIGHTLY_NAMED = r"\p{Lu}[\p{L}'’-]+\s+(?:\p{Ll}{1,3}\s+){0,3}\p{Lu}"


@dataclass(frozen=True)
class _Word:
    text: str
    start: int
    end: int

    @property
    def plain(self) -> str:
        return self.text.casefold()

    @property
    def is_capital(self) -> bool:
        """Whether it is written as a name is: an abbreviation in capitals is not, nor what is made of one (DVDs, CD-speler)."""
        head, _, rest = self.text.partition("-")
        short = _OF_ABBREVIATION.sub("", self.text if rest.isupper() else head)
        return self.text[0].isupper() and not (short.isupper() and len(short) <= _LONGEST_ABBREVIATION)


def without_names(text: str, care: Care) -> str:
    """Text with `[removed]` in place of what looks like somebody's name or initials."""
    words = [_Word(found.group(), found.start(), found.end()) for found in _WORD.finditer(text)]
    marked = _Marks(text, words, care).all()
    for start, end in reversed(_joined(text, marked)):
        text = text[:start] + REMOVED + text[end:]
    if care in ("part", "full"):
        text = _WHO_DID_IT.sub(_without_who, text)
        text = _AT_THE_END.sub(_without_who, text)
        text = _STOPPED.sub(_without_who, text)
    return text


class _Marks:
    """Places in one text that look like names."""

    def __init__(self, text: str, words: list[_Word], care: Care) -> None:
        self.text, self.words, self.care = text, words, care
        self.in_capitals = text.isupper()
        plain = {word.plain for word in words}
        self.is_german = bool(plain & GERMAN) or any(sign in text for sign in "äöüßÄÖÜ")
        self.places: set[int] = set()

    def all(self) -> list[_Word]:
        """Every word that is part of a name, in the order of the text."""
        for at in range(len(self.words)):
            if self._is_given(at):
                self._mark_around(at)
        if self.care in ("light", "make"):
            self.places = {at for at in self.places if self._is_of_a_person(at)}
        else:
            self._two_capitals(whole=self.care == "job")
            for at in range(len(self.words)):
                if self._is_named_by_company(at):
                    self._mark_back(at)
        return [self.words[at] for at in sorted(self.places)]

    def _is_given(self, at: int) -> bool:
        word = self.words[at]
        parts = without_accents(word.plain).split("-")
        if self.care in ("light", "make"):
            # A make may be called like a person; with a second name beside it hardly.
            return word.is_capital and any(part in GIVEN_NAMES for part in parts) and self._has_family(at)
        if word.plain in _known():
            return False
        return any(part in GIVEN_NAMES for part in parts) and (
            len(parts) == 1 or all(p in GIVEN_NAMES for p in parts) or word.is_capital
        )

    def _is_of_a_person(self, at: int) -> bool:
        """
        Whether a name among makes and models is that of a person.

        Makers are called like people. What has other words beside it ("X Y lamp") is a thing, unless they are those
        that stand beside people.
        """
        between = _SEPARATORS.split(self.text[: self.words[at].start])[-1]
        start = self.words[at].start - len(between)
        end = start + len(_SEPARATORS.split(self.text[start:])[0])
        others = [
            word.plain
            for n, word in enumerate(self.words)
            if start <= word.start < end and n not in self.places and word.plain not in _BETWEEN
        ]
        return not others or bool(_BESIDE_PEOPLE.intersection(others))

    def _has_family(self, at: int) -> bool:
        """Whether an unknown word with a capital follows, particles between them left aside."""
        behind = at + 1
        while behind < len(self.words) and self.words[behind].text in _BETWEEN:
            behind += 1
        if behind >= len(self.words) or not all(self._beside(n, n + 1) for n in range(at, behind)):
            return False
        family = self.words[behind]
        return family.is_capital and family.text != self.words[at].text and not is_known(family.text)

    def _mark_around(self, at: int) -> None:
        """A given name, and what of the name stands before and behind it."""
        self.places.add(at)
        behind = at + 1
        while behind < len(self.words) and self._beside(behind - 1, behind) and self._goes_on(behind):
            self.places.add(behind)
            behind += 1
        before = at - 1
        if (
            before >= 0
            and self._beside(before, at, comma=True)
            and self.words[before].is_capital
            and not is_known(self.words[before].text)
        ):
            self.places.add(before)

    def _goes_on(self, at: int) -> bool:
        word = self.words[at]
        if word.plain in _BETWEEN or _INITIAL.fullmatch(word.text):
            return at + 1 < len(self.words) and self._beside(at, at + 1) and self._goes_on(at + 1)
        if is_known(word.text):
            others = [other for other in self.words if other is not word]
            has_lower = any(other.text[0].islower() for other in others) or len(self.words) == 2
            return word.is_capital and has_lower and not self.in_capitals and not is_trade(word.text)
        return len(word.text) >= _SHORTEST

    def _two_capitals(self, *, whole: bool) -> None:
        """Two or more unknown words with capitals in a row, or one beside an initial."""
        if self.in_capitals:
            return
        run: list[int] = []
        for at, word in enumerate([*self.words, None]):
            goes_on = word is not None and (not run or self._beside(run[-1], at, comma=len(run) == 1))
            if word is not None and goes_on and self._is_of_a_name(at):
                run.append(at)
                continue
            if word is not None and run and goes_on and word.plain in _BETWEEN and word.text.islower():
                run.append(at)
                continue
            self._keep_run(run, whole=whole)
            run = [at] if word is not None and self._is_of_a_name(at) else []

    def _keep_run(self, run: list[int], *, whole: bool) -> None:
        while run and self.words[run[-1]].plain in _BETWEEN:
            run = run[:-1]
        strange = [
            at
            for at in run
            if self.words[at].is_capital
            and len(self.words[at].text) > 1
            and not is_known(self.words[at].text)
        ]
        names = [at for at in run if self.words[at].text not in _BETWEEN]
        if len(names) >= 2 and strange and (not whole or len(run) == len(self.words)):
            self.places.update(run)

    def _is_of_a_name(self, at: int) -> bool:
        word = self.words[at]
        if len(word.text) == 1:
            # An initial has a full stop, or stands alone between spaces; the E of "E12" is none.
            return word.text.isupper() and not self.text[word.end : word.end + 1].isdigit()
        return word.is_capital and (not is_known(word.text) or word.plain in ALSO_WORDS)

    def _is_named_by_company(self, at: int) -> bool:
        word = self.words[at]
        if len(word.text) < _SHORTEST or is_known(word.text):
            return False
        behind = self.words[at + 1].plain if at + 1 < len(self.words) and self._beside(at, at + 1) else ""
        if behind in SAYS or _NOT_IN.match(self.text, word.end):
            return True
        # A machine too "wil niet", "moved" or "meldet": of a word without a capital that says nothing.
        if (
            behind in SAYS_OF_THINGS
            and word.is_capital
            and not self.in_capitals
            and self._is_within_a_sentence(at)
        ):
            return True
        before = self.words[at - 1].plain if at and self._beside(at - 1, at) else ""
        if not word.is_capital or self.in_capitals:
            return before in PERSONS and len(word.text) > _SHORTEST and self.in_capitals
        if before in BEFORE_NAMES:
            return True
        # The name of a part has a maker's in it more often than a person's.
        is_plain = self.care == "full" and not self.is_german
        return is_plain and len(word.text) > _SHORTEST and self._is_within_a_sentence(at)

    def _mark_back(self, at: int) -> None:
        """A word that is taken for a name, and unknown words with capitals before it."""
        self.places.add(at)
        while at and self._beside(at - 1, at) and self._is_of_a_name(at - 1):
            at -= 1
            self.places.add(at)

    def _is_within_a_sentence(self, at: int) -> bool:
        """Whether a word in lower case stands directly before, so that no sentence begins here."""
        return (
            bool(at) and self.words[at - 1].text[0].islower() and self._gap(at - 1, at).strip(" ,('\"") == ""
        )

    def _beside(self, first: int, second: int, *, comma: bool = False) -> bool:
        if second >= len(self.words):
            return False
        gap = self._gap(first, second)
        return (
            gap.isspace()
            or (gap.strip() == "." and len(self.words[first].text) <= 2)
            or (comma and gap.strip() == ",")
            or gap.strip() == "&"
        )

    def _gap(self, first: int, second: int) -> str:
        return self.text[self.words[first].end : self.words[second].start]


def without_accents(text: str) -> str:
    """Letters without their marks: names are typed both ways."""
    apart = unicodedata.normalize("NFKD", text)
    return "".join(sign for sign in apart if not unicodedata.combining(sign)).replace("ł", "l")


def is_known(word: str) -> bool:
    """Whether a word is one of the trade or of everyday, so that a capital makes no name of it."""
    plain = word.casefold()
    return _is_known(plain) or all(_is_known(part) for part in re.split(r"['’-]", plain) if len(part) > 1)


def is_trade(word: str) -> bool:
    """Whether a word stands in the vocabulary."""
    return word.casefold() in known_words()


def _is_known(plain: str) -> bool:
    known = _known()
    if plain in known:
        return True
    if plain in GIVEN_NAMES:
        return False
    for ending in _ENDINGS:
        stem = plain.removesuffix(ending)
        if (
            stem != plain
            and len(stem) >= _SHORTEST
            and (stem in known or (stem[-1] == stem[-2:-1] and stem[:-1] in known))
        ):
            return True
    return len(plain) >= _SHORTEST_HEADED and plain.endswith(HEADS)


@cache
def _known() -> frozenset[str]:
    return known_words() | COMMON_WORDS | EVERYDAY_THINGS | frozenset(SMALL_WORDS.split())


def _joined(text: str, words: list[_Word]) -> list[tuple[int, int]]:
    """Stretches to take out: words of one name with what stands between them."""
    stretches: list[tuple[int, int]] = []
    for word in words:
        end = word.end + (len(word.text) == 1 and text[word.end : word.end + 1] == ".")
        if stretches and not text[stretches[-1][1] : word.start].strip(" .,&\u00a0"):
            stretches[-1] = (stretches[-1][0], end)
        else:
            stretches.append((word.start, end))
    return stretches


def _without_who(match: re.Match[str]) -> str:
    who = match.group("who")
    if is_known(re.sub(r"[\s.]", "", who)):
        return match.group()
    start, end = match.span("who")
    return match.group()[: start - match.start()] + REMOVED + match.group()[end - match.start() :]
