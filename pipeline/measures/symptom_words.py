"""What the customer says, read as the log was read: symptoms, kind of machine, model, code, and dangers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.normalise.fault_codes import code_key
from pipeline.normalise.phrases import pieces, read_phrase
from pipeline.vocabulary import Words, normal_form, vocabulary
from pipeline.vocabulary.dangers import SEVERAL, dangers_of
from pipeline.vocabulary.nearest import likeness, nearest, plain
from pipeline.vocabulary.wordings import wordings

SUGGESTED = 6
# A misspelled symptom is taken for the one it comes nearest to where that is near enough and no other is about as near.
CLEAR = 0.8
AHEAD = 0.05


@dataclass(frozen=True)
class Case:
    """
    What is known before the machine is opened.

    Attributes
    ----------
    words : str
        What the customer says.
    unit_type, model, code : str
        Empty where not known.
    """

    words: str
    unit_type: str = ""
    model: str = ""
    code: str = ""


@dataclass(frozen=True)
class Understood:
    """The words as the log's own: symptoms, kind of machine, model, code; and the dangers they tell of."""

    symptoms: tuple[str, ...]
    unit_type: str | None
    model: str | None
    code: str | None
    dangers: tuple[str, ...]

    def text(self) -> str:
        """For people: not filling, dishwasher, any model."""
        said = [*self.symptoms, self.unit_type or "any kind", self.model or "any model", self.code]
        return ", ".join(filter(None, said))


@dataclass(frozen=True)
class KnownWords:
    """
    What the log can be asked for; one reading of a build serves every question put to it.

    Attributes
    ----------
    symptoms, kinds, models, codes : mapping of str to int
        How many symptoms of jobs (the commonest), jobs, and jobs with a model or a code have each.
    by_kind : mapping of str or None to mapping of str to int
        Fault jobs of a kind of machine by symptom (the commonest); of all kinds under None.
    folder : Path or None
        The shop's vocabulary folder.
    words : mapping of str to Words
        The vocabulary by column, the shop's own words too.
    """

    symptoms: Mapping[str, int]
    kinds: Mapping[str, int]
    models: Mapping[str, int]
    codes: Mapping[str, int]
    by_kind: Mapping[str | None, Mapping[str, int]]
    folder: Path | None
    words: Mapping[str, Words]
    _ways: dict[str | None, dict[str, str]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, con: duckdb.DuckDBPyConnection, vocabulary_folder: Path | None = None) -> KnownWords:
        """Count the words of a build."""
        symptoms = _known(con, _COMMONEST, [MOST_LOOKED_THROUGH])
        by_kind: dict[str | None, dict[str, int]] = {None: {}}
        for kind, symptom, count in con.execute(_BY_KIND, [list(symptoms)]).fetchall():
            by_kind[None][symptom] = by_kind[None].get(symptom, 0) + count
            by_kind.setdefault(kind, {})[symptom] = count
        return cls(
            symptoms,
            _known(con, "select unit_type, count(*) from tables.jobs group by unit_type"),
            _known(con, "select model, count(*) from tables.jobs where model is not null group by model"),
            _known(
                con,
                "select fault_code, count(*) from tables.jobs where fault_code is not null group by fault_code",
            ),
            by_kind,
            vocabulary_folder,
            vocabulary(vocabulary_folder),
        )

    def understand(self, con: duckdb.DuckDBPyConnection, case: Case) -> Understood:
        """
        Read the customer's words as the log was read.

        Parameters
        ----------
        con : DuckDBPyConnection
            The build: it alone knows the rare symptoms, which are found only where they are written in full.
        case : Case

        Raises
        ------
        CannotAnswerError
            If nothing of them is in the log, saying which symptoms are nearest or commonest.
        """
        danger = dangers_of(pl.Series([case.words])).item() or ""
        dangers = tuple(piece for piece in danger.split(SEVERAL) if piece)
        symptoms = self._symptoms(con, case.words)
        if not symptoms and not dangers:
            raise CannotAnswerError(self._not_understood(case.words))
        kind = read_phrase(self.words["unit_type"], {}, case.unit_type)[0]
        return Understood(
            symptoms,
            _one_of(self.kinds, kind, "kind of machine", case.unit_type),
            _spelled(self.models, case.model),
            next(
                (code for code in sorted(self.codes) if case.code and code_key(code) == code_key(case.code)),
                None,
            ),
            dangers,
        )

    def suggestions(self, words: str, unit_type: str | None = None) -> list[str]:
        """Symptoms of the log that what was typed so far may mean, nearest first; before anything is typed, the commonest."""
        known = self.by_kind.get(unit_type, {})
        if not plain(words):
            return _commonest(known, SUGGESTED)
        if unit_type not in self._ways:
            # Of this kind alone: a wording may mean something else on another.
            self._ways[unit_type] = wordings(known, self.folder)
        return nearest(words, self._ways[unit_type], SUGGESTED)

    @cached_property
    def ways(self) -> dict[str, str]:
        """How each symptom of the log may be typed, with its meaning."""
        return wordings(self.symptoms, self.folder)

    def _symptoms(self, con: duckdb.DuckDBPyConnection, said: str) -> tuple[str, ...]:
        """By the vocabulary, phrase by phrase; else by what stands in the text; else by what it is misspelled from."""
        read = [read_phrase(self.words["symptom"], {}, piece) for piece in pieces(said.replace(",", ";"))]
        meant = {meaning for meaning, _ in read if meaning is not None}
        found = {meaning for meaning in meant if meaning in self.symptoms} or set(
            _known(con, _THERE, [[*meant]])
        )
        if found:
            return tuple(sorted(found))
        found = _in_the_text(said, self.ways)
        # What the vocabulary knows and the log does not show is no misspelling of something else.
        if not found and all(rule == "own words" for _, rule in read):
            found = _misspelled(said, self.ways)
        return tuple(sorted(found))

    def _not_understood(self, said: str) -> str:
        near = nearest(said, self.ways, SUGGESTED)
        nearest_first = f"Nearest: {', '.join(near)}. " if near else ""
        return (
            f"No job in the log shows “{normal_form(said)}”. {nearest_first}The log's commonest symptoms are: "
            f"{', '.join(_commonest(self.symptoms, 12))}."
        )


# A text that nothing settles is a symptom of its own, and a big log has a million of them: only these are looked through when
# somebody types, and may be offered.
MOST_LOOKED_THROUGH = 400
_COMMONEST = "select symptom, count(*) from tables.job_symptoms group by symptom order by 2 desc, 1 limit $1"
_THERE = "select symptom, count(*) from tables.job_symptoms where list_contains($1, symptom) group by symptom"
_BY_KIND = """
select j.unit_type, s.symptom, count(*)
from tables.job_symptoms as s join tables.jobs as j on j.job_no = s.job_no
where j.is_fault and list_contains($1, s.symptom) group by j.unit_type, s.symptom
"""


def understand(
    con: duckdb.DuckDBPyConnection, case: Case, vocabulary_folder: Path | None = None
) -> Understood:
    """The customer's words as the log's own; see `KnownWords.understand`."""
    return KnownWords.of(con, vocabulary_folder).understand(con, case)


def _in_the_text(text: str, ways: Mapping[str, str]) -> set[str]:
    """Symptoms whose words all stand in the text, the longest first, each word used once."""
    left = f" {plain(text)} "
    found = set()
    for way in sorted(ways, key=lambda name: (-len(name), name)):
        if f" {way} " in left:
            found.add(ways[way])
            left = left.replace(f" {way} ", " | ")
    return found


def _misspelled(text: str, ways: Mapping[str, str]) -> set[str]:
    best: dict[str, float] = {}
    typed = plain(text).split()
    for way, meaning in ways.items():
        best[meaning] = max(best.get(meaning, 0.0), likeness(typed, way.split()))
    order = sorted(best, key=lambda meaning: (-best[meaning], meaning))
    if not order or best[order[0]] < CLEAR:
        return set()
    second = best[order[1]] if len(order) > 1 else 0.0
    return {order[0]} if best[order[0]] - second >= AHEAD else set()


def _commonest(known: Mapping[str, int], most: int) -> list[str]:
    return sorted(known, key=lambda name: (-known[name], name))[:most]


def _known(con: duckdb.DuckDBPyConnection, sql: str, values: list[object] | None = None) -> dict[str, int]:
    return {name: count for name, count in con.execute(sql, values or []).fetchall() if name}


def _one_of(known: Iterable[str], meaning: str | None, what: str, said: str) -> str | None:
    if not said:
        return None
    if meaning is not None and meaning in known:
        return meaning
    there = ", ".join(sorted(known))
    raise CannotAnswerError(f"The log has no {what} “{normal_form(said)}”; it has {there}.")


def _spelled(known: Iterable[str], said: str) -> str | None:
    """As the log writes it; a model or code that the log does not know is left out, for the answer works without."""
    form = normal_form(said).replace(" ", "")
    if not form:
        return None
    return next((name for name in sorted(known) if normal_form(name).replace(" ", "") == form), None)
