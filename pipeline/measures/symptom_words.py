"""What the customer says, read as the log was read: symptoms, kind of machine, model, code, and dangers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.normalise.fault_codes import code_key
from pipeline.normalise.phrases import pieces, read_phrase
from pipeline.vocabulary import normal_form, vocabulary
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


def understand(
    con: duckdb.DuckDBPyConnection, case: Case, vocabulary_folder: Path | None = None
) -> Understood:
    """
    Read the customer's words as the log was read.

    Raises
    ------
    CannotAnswerError
        If nothing of them is in the log, saying which symptoms are nearest or commonest.
    """
    danger = dangers_of(pl.Series([case.words])).item() or ""
    dangers = tuple(piece for piece in danger.split(SEVERAL) if piece)
    known = _known(con, "select symptom, count(*) from tables.job_symptoms group by symptom")
    symptoms = _symptoms(case.words, known, vocabulary_folder)
    if not symptoms and not dangers:
        raise CannotAnswerError(_not_understood(case.words, known, vocabulary_folder))
    kinds = _known(con, "select unit_type, count(*) from tables.jobs group by unit_type")
    kind = read_phrase(vocabulary(vocabulary_folder)["unit_type"], {}, case.unit_type)[0]
    models = _known(con, "select model, count(*) from tables.jobs where model is not null group by model")
    codes = _known(
        con, "select fault_code, count(*) from tables.jobs where fault_code is not null group by fault_code"
    )
    return Understood(
        symptoms,
        _one_of(kinds, kind, "kind of machine", case.unit_type),
        _spelled(models, case.model),
        next((code for code in sorted(codes) if case.code and code_key(code) == code_key(case.code)), None),
        dangers,
    )


def suggestions(
    con: duckdb.DuckDBPyConnection,
    words: str,
    vocabulary_folder: Path | None = None,
    *,
    unit_type: str | None = None,
) -> list[str]:
    """Symptoms of the log that what was typed so far may mean, nearest first; before anything is typed, the commonest."""
    known = _known(
        con,
        "select s.symptom, count(*) from tables.job_symptoms as s join tables.jobs as j on j.job_no = s.job_no "
        "where j.is_fault and ($1 is null or j.unit_type = $1) group by s.symptom",
        [unit_type],
    )
    if not plain(words):
        return _commonest(known, SUGGESTED)
    return nearest(words, wordings(known, vocabulary_folder), SUGGESTED)


def _symptoms(said: str, known: Mapping[str, int], folder: Path | None) -> tuple[str, ...]:
    """By the vocabulary, phrase by phrase; else by what stands in the text; else by what it is misspelled from."""
    read = [read_phrase(vocabulary(folder)["symptom"], {}, piece) for piece in pieces(said.replace(",", ";"))]
    found = {meaning for meaning, _ in read if meaning is not None and meaning in known}
    if found:
        return tuple(sorted(found))
    ways = wordings(known, folder)
    found = _in_the_text(said, ways)
    # What the vocabulary knows and the log does not show is no misspelling of something else.
    if not found and all(rule == "own words" for _, rule in read):
        found = _misspelled(said, ways)
    return tuple(sorted(found))


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


def _not_understood(said: str, known: Mapping[str, int], folder: Path | None) -> str:
    near = nearest(said, wordings(known, folder), SUGGESTED)
    nearest_first = f"Nearest: {', '.join(near)}. " if near else ""
    return (
        f"No job in the log shows “{normal_form(said)}”. {nearest_first}The log's commonest symptoms are: "
        f"{', '.join(_commonest(known, 12))}."
    )


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
