"""Each column of a file to one standard column, or to none: the assignment for which most speaks, and where it is in doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import linear_sum_assignment

from pipeline.recognition.clues import KINDS, LEFT_OUT, NEVER, TARGETS, YES_NO, Clue, Clues, own_clues
from pipeline.recognition.clues import weight as weight_of
from pipeline.recognition.columns import Column, month_first
from pipeline.recognition.header_words import scores
from pipeline.recognition.kinship import kinship_clues
from pipeline.recognition.known_words import KnownWords
from pipeline.recognition.machines import machine_clues
from pipeline.recognition.order import order_clues

# What must speak for a column before anything is made of it.
ENOUGH = 2.2
# What two ways to read a file may differ by before a person has to say which it is.
DOUBT = 0.8
SURE = 5.0
PASSES = 3


@dataclass(frozen=True)
class Reading:
    """
    What is made of one column.

    Attributes
    ----------
    column : Column
        The column.
    target : str
        Standard column; a reason for leaving out ("no:name"); "" where nothing is known.
    weight, margin : float
        What speaks for it, and by how much more than for the next best.
    reasons : tuple of str
        In plain words, the weightiest first.
    rivals : tuple of str
        Standard columns it might as well be; with more than one of them in question a person is asked.
    """

    column: Column
    target: str
    weight: float = 0.0
    margin: float = 0.0
    reasons: tuple[str, ...] = ()
    rivals: tuple[str, ...] = field(default=())

    @property
    def is_used(self) -> bool:
        """Whether a standard column is made from it."""
        return bool(self.target) and self.target not in LEFT_OUT


def read_columns(columns: Sequence[Column], words: KnownWords) -> tuple[Reading, ...]:
    """
    Decide what each column is.

    Parameters
    ----------
    columns : sequence of Column
        Of one file.
    words : KnownWords
        The vocabulary.

    Returns
    -------
    tuple of Reading
        In the order of the columns.
    """
    own = own_clues(columns, words)
    clues, chosen = own, _assigned(columns, own)
    is_month_first = month_first(columns)
    for _ in range(PASSES):
        roles = _roles(columns, clues, chosen)
        machine = roles.get("unit_id", roles.get("serial"))
        clues = _joined(
            own,
            order_clues(columns, machine, month_first=is_month_first),
            kinship_clues(columns, roles),
            machine_clues(columns, roles),
        )
        chosen = _assigned(columns, clues)
    return tuple(_reading(column, clues, chosen) for column in columns)


def _assigned(columns: Sequence[Column], clues: Clues) -> dict[int, str]:
    """The target of each column, "" for none: together they have the greatest weight there is."""
    standard = list(KINDS)
    matrix = np.zeros((len(columns), len(standard) + len(columns)))
    nothing = {}
    for n, column in enumerate(columns):
        matrix[n, : len(standard)] = [weight_of(clues, column.position, target) for target in standard]
        best = max(LEFT_OUT, key=lambda target: weight_of(clues, column.position, target))
        weight = weight_of(clues, column.position, best)
        nothing[column.position] = best if weight > ENOUGH else ""
        matrix[n, len(standard) :] = max(weight, ENOUGH)
    rows, places = linear_sum_assignment(matrix, maximize=True)
    return {
        columns[n].position: standard[place] if place < len(standard) else nothing[columns[n].position]
        for n, place in zip(rows.tolist(), places.tolist(), strict=True)
    }


def _roles(columns: Sequence[Column], clues: Clues, chosen: Mapping[int, str]) -> dict[str, Column]:
    """Columns that are known well enough to tell others by."""
    return {
        chosen[column.position]: column
        for column in columns
        if chosen[column.position] in KINDS
        and column.filled
        and weight_of(clues, column.position, chosen[column.position]) > ENOUGH
    }


def _joined(*several: Clues) -> Clues:
    joined: dict[tuple[int, str], list[Clue]] = {}
    for clues in several:
        for key, found in clues.items():
            joined.setdefault(key, []).extend(found)
    return joined


def _reading(column: Column, clues: Clues, chosen: Mapping[int, str]) -> Reading:
    target = chosen[column.position]
    weight = weight_of(clues, column.position, target) if target else ENOUGH
    rivals = _rivals(column, clues, chosen) if column.filled else {}
    margin = weight - max(
        (weight_of(clues, column.position, other) for other in _others(target, chosen)), default=0.0
    )
    close = tuple(other for other, loss in sorted(rivals.items(), key=lambda item: item[1]) if loss < DOUBT)
    said = sorted(clues.get((column.position, target), ()), key=lambda clue: -clue.weight)
    reasons = tuple(dict.fromkeys(clue.says for clue in said if clue.weight > 0 and clue.says))
    return Reading(column, target, weight, min([margin, *rivals.values()]), reasons[:3], close)


def _others(target: str, chosen: Mapping[int, str]) -> list[str]:
    taken = set(chosen.values())
    return [other for other in TARGETS if other != target and other not in taken]


def _rivals(column: Column, clues: Clues, chosen: Mapping[int, str]) -> dict[str, float]:
    """What would be lost if the column were something else, by what that is: alone, or changing places with another."""
    position, target = column.position, chosen[column.position]
    now = weight_of(clues, position, target) if target else ENOUGH
    taken = {other: at for at, other in chosen.items() if other in KINDS}
    found = {}
    for other in KINDS:
        instead = weight_of(clues, position, other)
        if other == target or instead <= ENOUGH or instead < 0.5 * NEVER:
            continue
        loss = now - instead
        if other in taken:
            at = taken[other]
            back = weight_of(clues, at, target) if target in KINDS else ENOUGH
            loss += weight_of(clues, at, other) - max(back, ENOUGH)
        found[other] = loss
    if not target and column.distinct > 1 and scores(column.header) == {}:
        # Answers without a question: which of them it is stands nowhere.
        asked = [name for name in YES_NO if weight_of(clues, position, name) > 0 and name not in taken]
        found |= dict.fromkeys(asked, 0.0)
    return found
