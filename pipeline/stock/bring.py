"""What to take to a job whose symptom is known, so that it ends at the first visit: pieces by number, and where they lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy import stats

from pipeline.errors import CannotAnswerError
from pipeline.estimators.back_off import ROOT, something_else
from pipeline.measures.symptom_fixes import Fixes, part_names
from pipeline.measures.symptom_jobs import NEXT, TIMES, jobs_in
from pipeline.measures.symptom_levels import Levels
from pipeline.planning.bring import bundles, covered
from pipeline.stock.family import own_numbers
from pipeline.stock.present import Present, present

NOTHING = "no part"


@dataclass(frozen=True)
class Finish:
    """Chance that every part the job needs is there, and its limits."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Piece:
    """
    One part to take.

    Attributes
    ----------
    part_key, part_name : str
    part_no : str or None
    quantity : int
    finish : Finish
        With this and everything before it.
    on_van, in_stores : int or None
        Pieces there; None where no stock list names vans, or none was loaded.
    """

    part_key: str
    part_no: str | None
    part_name: str
    quantity: int
    finish: Finish
    on_van: int | None
    in_stores: int | None

    @property
    def missing(self) -> int:
        """Pieces to put in."""
        return max(self.quantity - (self.on_van or 0), 0)


@dataclass(frozen=True)
class Bring:
    """
    What to take.

    Attributes
    ----------
    pieces : tuple of Piece
        Most worth taking first.
    without : Finish
        With no part at all.
    van : str or None
        The van asked about.
    with_van : Finish or None
        With what lies on it now.
    vans : tuple of str
        Vans of the stock list.
    jobs : int
        Fixes of the kind that held, behind these chances.
    level : str
        Groups of jobs that speak, the kind of machine first.
    """

    pieces: tuple[Piece, ...]
    without: Finish
    van: str | None
    with_van: Finish | None
    vans: tuple[str, ...]
    jobs: int
    level: str

    def rows(self) -> list[dict[str, Any]]:
        """part_no, part_name, quantity, value, low, high, on_van, in_stores; the first is what can be done without a part."""
        first = {"part_no": None, "part_name": NOTHING, "quantity": 0, **vars(self.without)}
        first |= {"on_van": None, "in_stores": None}
        return [
            first,
            *(
                {
                    "part_no": piece.part_no,
                    "part_name": piece.part_name,
                    "quantity": piece.quantity,
                    **vars(piece.finish),
                    "on_van": piece.on_van,
                    "in_stores": piece.in_stores,
                }
                for piece in self.pieces
            ),
        ]


def bring(con: duckdb.DuckDBPyConnection, fixes: Fixes, van: str | None = None) -> Bring:
    """
    What to take for the best chance of finishing at the first visit.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    fixes : Fixes
        As `find_fixes` gives them.
    van : str or None
        A van of the stock list, by its name.

    Raises
    ------
    CannotAnswerError
        If the stock list has no van of that name.
    """
    now = present(con)
    chosen = _van(now, van)
    model = _Needs.of(con, fixes)
    keys = model.keys
    found = bundles(model.needs, model.chance)
    pieces, have = [], np.zeros(len(keys), np.int64)
    names = part_names(con, keys)
    there = now.at([chosen], keys) if chosen else None
    stored = now.at(now.stores, keys) if now.frame.height else None
    after: dict[int, Finish] = {}
    for bundle in found:
        have = have + bundle.pieces
        finish = model.finish(have)
        # A part that is taken again with a later bundle keeps its place, with all its pieces.
        after |= {int(part): finish for part in np.flatnonzero(bundle.pieces) if int(part) not in after}
    for part, finish in after.items():
        number, name = names[keys[part]]
        pieces.append(
            Piece(
                keys[part],
                number,
                name,
                int(have[part]),
                finish,
                None if there is None else int(there[part]),
                None if stored is None else int(stored[part]),
            )
        )
    return Bring(
        tuple(pieces),
        model.finish(np.zeros(len(keys), np.int64)),
        chosen,
        None if there is None else model.finish(there),
        tuple(now.vans),
        model.jobs,
        ", ".join(fixes.levels.names[1:]) or fixes.levels.names[0],
    )


def _van(now: Present, van: str | None) -> str | None:
    if van is None:
        return None
    name = next((each for each in now.vans if each.casefold() == van.strip().casefold()), None)
    if name is None:
        there = ", ".join(now.vans) or "none; load one with --stock"
        raise CannotAnswerError(f"The stock list has no van “{van}”; its vans are: {there}.")
    return name


@dataclass(frozen=True)
class _Needs:
    """Kinds of job by what they needed: pieces (kinds, parts), chance of each and jobs behind it (kinds,)."""

    keys: list[str]
    needs: NDArray[np.int64]
    chance: NDArray[np.float64]
    weight: NDArray[np.float64]
    total: float
    unseen: float
    jobs: int

    @classmethod
    def of(cls, con: duckdb.DuckDBPyConnection, fixes: Fixes) -> _Needs:
        told = {text: _pieces(text) for text in fixes.jobs["needs"].unique().to_list() if text}
        own = own_numbers(con, sorted({key for some in told.values() for key in some}), fixes.understood)
        sets = {text: _written(some, own) for text, some in told.items()}
        needed = pl.col("needs").replace(sets).fill_null("")
        jobs = fixes.jobs.with_columns(needed.alias("subject"), pl.lit("").alias("action"))
        levels = Levels.of(jobs, fixes.understood)
        estimate = levels.estimate(fixes.lean)
        holding = levels.of_kind.filter(~pl.col("came_back"))
        counts = holding.group_by("at").agg(pl.col("jobs").sum())
        held = jobs_in(holding)
        places = np.sort(counts["at"].to_numpy().astype(np.int64))
        once = float((counts["jobs"] == 1).sum())
        seen = 1.0 - something_else(once, float(held))
        texts = levels.labels["subject"].to_list()
        kinds = [_pieces(texts[at]) for at in places]
        keys = sorted({key for kind in kinds for key in kind})
        place = {key: at for at, key in enumerate(keys)}
        needs = np.zeros((len(kinds), len(keys)), dtype=np.int64)
        for row, kind in zip(needs, kinds, strict=True):
            row[[place[key] for key in kind]] = [*kind.values()]
        return cls(
            keys,
            needs,
            estimate.value[places] * seen,
            estimate.weight[places],
            float(estimate.weight.sum()),
            once + ROOT,
            held,
        )

    def finish(self, there: NDArray[np.int64]) -> Finish:
        """Limits by the jobs behind the chance, those lent by coarser groups and those of needs never seen too."""
        enough = covered(self.needs, there)
        value = float(self.chance[enough].sum())
        a = float(self.weight[enough].sum())
        b = max(self.total - a, 0.0) + self.unseen
        low = float(stats.beta.ppf(0.025, a, b)) if a else 0.0
        return Finish(value, min(low, value), max(float(stats.beta.ppf(0.975, max(a, ROOT), b)), value))


def _pieces(text: str) -> dict[str, int]:
    """Pieces by part, as `symptom_jobs` writes them."""
    found = {}
    for piece in filter(None, text.split(NEXT)):
        key, _, pieces = piece.rpartition(TIMES)
        found[key] = int(pieces)
    return found


def _written(pieces: Mapping[str, int], own: Mapping[str, str]) -> str:
    """The same under the numbers of the machine asked about; parts that have one number there are added up."""
    summed: dict[str, int] = {}
    for key, many in pieces.items():
        summed[own.get(key, key)] = summed.get(own.get(key, key), 0) + many
    return NEXT.join(sorted(f"{key}{TIMES}{many}" for key, many in summed.items()))
