"""
Works told in running text: action, part, number and quantity of each, as lists that belong together place by place.

The text is cut into marks in one pass over many texts: a known action, a known part, a number, a sign that parts clauses,
or "_" for any other word, which is not kept. Each distinct row of marks is then read once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import polars as pl

from pipeline.intake.record_numbers import is_part_number, looks_like_part_number
from pipeline.intake.scrub import scrubbed
from pipeline.vocabulary.in_text import NEGATIONS, spaced, spaced_column

COLUMNS = ("action", "part_name", "part_no", "quantity")
_NOTHING = "-"  # stands in a list where a work has nothing of the kind
# They say that the number that follows is that of a part.
_NUMBER_WORDS = ("part no", "part number", "part nr", "p/n", "pn")
# They stand between a part and its number, or its action, and change nothing.
_FILLERS = (
    "the",
    "a",
    "new",
    "no",
    "nr",
    "part",
    "of",
    "with",
    "was",
    "were",
    "genuine",
    "old",
    "its",
    "and also",
)
_OPEN, _CLOSE = "\ue010", "\ue011"
_MARK = rf"{_OPEN}[a-z]\d*{_CLOSE}|[;+&,.\n]|[\w\ue001-\ue003]+"
_JOINED = (("-", "\ue001"), (".", "\ue002"), ("/", "\ue003"))
_BACK = {inside: sign for sign, inside in _JOINED}


@dataclass(frozen=True)
class _Work:
    action: int | None = None
    part: int | None = None
    number: str | None = None
    quantity: str | None = None


class WorkReader:
    """
    Reads works.

    Parameters
    ----------
    actions, parts : sequence of str
        Known ways of writing.
    columns : collection of str
        Which of `COLUMNS` are read.
    is_work : callable
        Whether a way of writing an action is that of a work on a part.
    """

    def __init__(
        self,
        actions: Sequence[str],
        parts: Sequence[str],
        columns: Sequence[str],
        is_work: Callable[[str], bool],
    ) -> None:
        self.columns = tuple(column for column in COLUMNS if column in columns)
        self._actions = list(actions) if "action" in columns else []
        self._parts = list(parts) if {"part_name", "part_no"} & set(columns) else []
        self._is_work = is_work

    def read(self, texts: pl.Series) -> dict[str, pl.Series]:
        """
        Works of each text, by column, joined by "; "; a work without one has "-" in its place.

        Parameters
        ----------
        texts : series of text
            Sections of records.
        """
        marks = self._marks(texts)
        every = {text: self._lists(text) for text in set(marks.drop_nulls().to_list())}
        return {
            column: marks.replace_strict(
                {text: lists[at] for text, lists in every.items()}, default=None, return_dtype=pl.String
            )
            if every
            else pl.Series([None], dtype=pl.String).new_from_index(0, len(texts))
            for at, column in enumerate(self.columns)
        }

    @cached_property
    def _patterns(self) -> Mapping[str, str]:
        terms = {spaced(word): f"{_OPEN}n{_CLOSE}" for word in _NUMBER_WORDS}
        terms |= {spaced(word): "  " for word in _FILLERS}
        terms |= {spaced("pair"): "  x2  ", spaced("pair of"): "  x2  "}
        terms |= {spaced(term): f"{_OPEN}p{at}{_CLOSE}" for at, term in enumerate(self._parts)}
        terms |= {spaced(term): f"{_OPEN}a{at}{_CLOSE}" for at, term in enumerate(self._actions)}
        not_done = {
            spaced(word) + spaced(term): f"{_OPEN}x{_CLOSE}" for word in NEGATIONS for term in self._actions
        }
        terms = {spaced("and"): f"  {_OPEN}c{_CLOSE}  ", **terms, **not_done}
        return dict(sorted(terms.items(), key=lambda pair: (-len(pair[0]), pair[0])))

    def _marks(self, texts: pl.Series) -> pl.Series:
        """Each text as its marks, a space between them."""
        safe = scrubbed(texts, "part")
        text = pl.col("text").str.to_lowercase().str.replace_all(r"\n", " ; ")
        for sign, inside in _JOINED * 2:  # twice: neighbours share a digit
            text = text.str.replace_all(rf"(\d){re.escape(sign)}(\w)", f"${{1}}{inside}${{2}}")
            text = text.str.replace_all(rf"(\w){re.escape(sign)}(\d)", f"${{1}}{inside}${{2}}")
        counted = spaced_column(text).str.replace_all(r" (\d{1,2})  (?:x|off)  ", "  x${1}  ")
        marked = counted.str.replace_many(list(self._patterns), list(self._patterns.values()), leftmost=True)
        found = marked.str.extract_all(_MARK)
        kept = found.list.eval(
            pl.when(pl.element().str.contains(rf"^{_OPEN}|\d|^[;+&,.]$"))
            .then(pl.element())
            .otherwise(pl.lit("_"))
        )
        return safe.alias("text").to_frame().select(kept.list.join(" ").alias("marks")).to_series()

    def _lists(self, marks: str) -> tuple[str | None, ...]:
        works = self._works(marks)
        values = {
            "action": [self._actions[work.action] if work.action is not None else None for work in works],
            "part_name": [self._parts[work.part] if work.part is not None else None for work in works],
            "part_no": [work.number for work in works],
            "quantity": [work.quantity for work in works],
        }
        return tuple(_listed(values[column]) for column in self.columns)

    def _works(self, marks: str) -> list[_Work]:
        works: list[_Work] = []
        for sentence in marks.split(" . "):
            works += self._of_sentence(sentence.removesuffix(" ."))
        return works

    def _of_sentence(self, sentence: str) -> list[_Work]:
        """Clauses in turn: parts without an action take that of the clause before, else of the one behind."""
        works: list[_Work] = []
        waiting: list[int] = []  # parts that were named before what was done to them
        last: int | None = None
        for clause in re.split(rf" ?(?:[;+&,]|{_OPEN}c{_CLOSE}) ?", sentence):
            actions, parts = _clause(clause)
            if actions is None:
                last = None
                continue
            if not parts:
                works, waiting, actions = self._for_waiting(works, waiting, actions)
                works += (_Work(action=action) for action in actions)
                last = actions[-1] if actions else last
                continue
            action = self._on_part(actions)
            if action is not None:
                works, waiting, _ = self._for_waiting(works, waiting, [action])
                works += (_Work(action=other) for other in actions if other != action)
            last = action if action is not None else last
            if last is None:
                waiting += range(len(works), len(works) + len(parts))
            works += (replace(part, action=last) for part in parts)
        return works

    def _on_part(self, actions: list[int]) -> int | None:
        done = [action for action in actions if self._is_work(self._actions[action])]
        return next(iter(done or actions), None)

    @staticmethod
    def _for_waiting(
        works: list[_Work], waiting: list[int], actions: list[int]
    ) -> tuple[list[_Work], list[int], list[int]]:
        if not waiting or not actions:
            return works, waiting, actions
        done = [replace(work, action=actions[0]) if at in waiting else work for at, work in enumerate(works)]
        return done, [], actions[1:]


def _clause(clause: str) -> tuple[list[int] | None, list[_Work]]:
    """Actions and parts of a clause; no actions at all (None) where it says that something was not done."""
    actions: list[int] = []
    parts: list[_Work] = []
    loose: list[str] = []  # numbers before the part they belong to
    beside = False  # whether a part, or the word for its number, stands directly before
    quantity: str | None = None
    for mark in clause.split():
        kind = mark[1] if mark.startswith(_OPEN) else ""
        if kind == "x":
            return None, []
        if kind == "a":
            actions.append(int(mark[2:-1]))
        elif kind == "p":
            parts.append(
                _Work(
                    part=int(mark[2:-1]), number=loose.pop() if loose and beside else None, quantity=quantity
                )
            )
            quantity = None
        elif kind == "n":
            pass
        elif mark != "_":
            parts, loose, quantity = _numbered(_written(mark), parts, loose, quantity, beside=beside)
        beside = kind in ("p", "n") or (kind == "" and mark != "_")
    found = [number for number in loose if looks_like_part_number(number)] if actions and not parts else []
    return actions, parts + [_Work(number=number, quantity=quantity) for number in found]


def _numbered(
    text: str, parts: list[_Work], loose: list[str], quantity: str | None, *, beside: bool
) -> tuple[list[_Work], list[str], str | None]:
    """A word with digits: how many, the number of the part beside it, or a number that waits for its part."""
    if many := re.fullmatch(r"x(\d{1,2})|(\d{1,2})x", text):
        said = many.group(1) or many.group(2)
        if parts and beside:
            return [*parts[:-1], replace(parts[-1], quantity=said)], loose, quantity
        return parts, loose, said
    if parts and parts[-1].number is None and beside and is_part_number(text):
        return [*parts[:-1], replace(parts[-1], number=text.upper())], loose, quantity
    if is_part_number(text):
        return parts, [*loose, text.upper()], quantity
    return parts, loose, quantity


def _written(mark: str) -> str:
    return "".join(_BACK.get(sign, sign) for sign in mark)


def _listed(values: list[str | None]) -> str | None:
    if not any(values):
        return None
    return "; ".join(value or _NOTHING for value in values)
