"""How a figure was worked out: definition, window, rows, queries, estimator, and a fingerprint that a second run gives again."""

from __future__ import annotations

import hashlib
import inspect
import json
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib.metadata import version

import duckdb
import polars as pl
import polars.selectors as cs

from pipeline.measures.query import Asked, listening
from pipeline.measures.question import Question
from pipeline.measures.registry import MEASURES, Measure, evaluate

# A number in a remark, as it is written there.
_NUMBER = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?")
DIGITS = 9  # of a number in the fingerprint; the last ones depend on the order in which a machine adds


@dataclass(frozen=True)
class Working:
    """
    What stands behind one answer.

    Attributes
    ----------
    measure : Measure
        Its definition and the source of its estimator.
    definition_version : str
        Fingerprint of the definition and of the file that works it out: it changes whenever one of them does.
    asked : Question
        Groups, window asked for, choices.
    window : tuple of str
        First moment, and first moment that no longer counts; empty where the answer has no rows.
    fates : tuple of (str, str, int)
        Of all rows received: fate, reason, count.
    population : tuple of str
        Which machines or jobs stand behind the figure.
    size : str
        How many rows there are, and how much stands below the line of each.
    notes : tuple of str
        What the answer's own notes say, each once: what was left out, and which interval a row has.
    queries : tuple of Asked
        Every query, with the values bound to it.
    fingerprint : str
        Of the definition, the question, everything received and the answer.
    """

    measure: Measure
    definition_version: str
    asked: Question
    window: tuple[str, ...]
    fates: tuple[tuple[str, str, int], ...]
    population: tuple[str, ...]
    size: str
    notes: tuple[str, ...]
    queries: tuple[Asked, ...]
    fingerprint: str

    @property
    def window_text(self) -> str:
        """The window in words."""
        return " up to, and without, ".join(self.window) or "no rows"

    @property
    def choices(self) -> str:
        """Groups, days and other choices, as they were asked for; what is as it always is goes without saying."""
        usual = asdict(Question())
        told = [
            f"{name} {', '.join(value) if isinstance(value, tuple) else value}"
            for name, value in asdict(self.asked).items()
            if value != usual[name] or name in self.measure.asks
        ]
        return "; ".join(told) or "the figure as it stands"

    @property
    def rows_text(self) -> str:
        """Every row received: how many were used, repeated, replaced, set aside."""
        return "; ".join(_fate(*fate) for fate in self.fates)

    def text(self) -> str:
        """For people: one fact a line, then the queries."""
        lines = [
            f"{self.measure.name}: {self.measure.question}",
            f"In one sentence: {self.measure.meaning}",
            f"Definition {self.definition_version}: {self.measure.definition}",
            f"Followed: {self.measure.followed}",
            f"Population: {'; '.join(self.population) or 'no rows'}",
            f"n: {self.size}",
            f"Interval: {100 * self.asked.level:g} %. {self.measure.source}",
            f"Window: {self.window_text}",
            f"Asked: {self.choices}",
            f"Rows received: {self.rows_text}",
            *([f"Left out, and notes: {'; '.join(self.notes)}"] if self.notes else []),
            f"Fingerprint: {self.fingerprint} (mendstat {version('mendstat')}); the same question to the same store gives it again",
            *(f"Query {number}:\n{asked.text()}" for number, asked in enumerate(self.queries, start=1)),
        ]
        return "\n".join(lines) + "\n"


def evaluate_with_working(
    con: duckdb.DuckDBPyConnection,
    name: str,
    question: Question | None = None,
    fates: tuple[tuple[str, str, int], ...] | None = None,
) -> tuple[pl.DataFrame, Working]:
    """
    Work out a figure and say how.

    Parameters
    ----------
    con, name, question
        As for `evaluate`; the same errors are raised.
    fates : tuple, optional
        From `fates_of` the same build; counted again where not given.
    """
    question = question or Question()
    with listening() as asked:
        result = evaluate(con, name, question)
    measure = MEASURES[name]
    queries = tuple(asked)
    definition = _definition_version(measure)
    working = Working(
        measure,
        definition,
        question,
        _window(result, question),
        fates_of(con) if fates is None else fates,
        _distinct(result, "basis"),
        _size(result),
        _notes(result),
        queries,
        _hash([name, definition, _choices(question), _received(con), _rounded(result)])[:16],
    )
    return result, working


@lru_cache(maxsize=64)
def _definition_version(measure: Measure) -> str:
    return _hash([measure.definition, measure.followed, measure.source, *_sources(measure)])[:8]


def _sources(measure: Measure) -> list[str]:
    """The files that work the figure out: the measure's own, and those of ours that it takes something from."""
    found: set[str] = set()
    new = {measure.work_out.__module__}
    while new:
        found |= new
        things = [thing for name in new for thing in vars(sys.modules[name]).values()]
        new = {name for thing in things if (name := _home(thing))} - found
    return [inspect.getsource(sys.modules[name]) for name in sorted(found)]


def _home(thing: object) -> str:
    name = str(getattr(thing, "__module__", ""))
    return name if name.startswith(("pipeline.measures.", "pipeline.estimators.")) else ""


def _choices(question: Question) -> str:
    said = {name: value for name, value in asdict(question).items() if value not in (None, (), False)}
    return json.dumps(said, default=str, sort_keys=True)


def _window(result: pl.DataFrame, asked: Question) -> tuple[str, ...]:
    if not result.height:
        return ()
    if "from" not in result.columns:
        # What is listed whole has a window only where one was asked for.
        ends = (asked.from_at or "the first record", asked.complete_to or "the day after the last record")
        is_whole = asked.from_at is None and asked.complete_to is None
        return ("everything received, whatever its day",) if is_whole else tuple(str(end) for end in ends)
    return tuple(str(result.get_column(name)[0]) for name in ("from", "complete_to"))


def _size(result: pl.DataFrame) -> str:
    rows = f"{result.height:,} {'row' if result.height == 1 else 'rows'}"
    below: list[float] = sorted(result.get_column("denominator").drop_nulls().to_list())
    if not below:
        return rows
    least, most = (f"{round(end, 1):,g}" for end in (below[0], below[-1]))
    return f"{rows}; below the line {least}" + ("" if least == most else f" to {most}")


def _distinct(result: pl.DataFrame, column: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(said for said in result.get_column(column).to_list() if said))


def _notes(result: pl.DataFrame) -> tuple[str, ...]:
    """Each remark of the rows once, with the smallest and largest of the numbers that differ, and how many rows it is of."""
    said = [part for note in result.get_column("note").to_list() for part in (note or "").split("; ") if part]
    alike: dict[str, list[list[str]]] = {}
    for part in said:
        words = part.replace("{", "{{").replace("}", "}}")
        alike.setdefault(_NUMBER.sub("{}", words), []).append(_NUMBER.findall(part))
    return tuple(
        words.format(*map(_span, zip(*numbers, strict=True)))
        + (f" ({len(numbers):,} of {result.height:,} rows)" if result.height > 1 else "")
        for words, numbers in alike.items()
    )


def _span(numbers: Sequence[str]) -> str:
    least, most = (pick(numbers, key=lambda each: float(each.replace(",", ""))) for pick in (min, max))
    return least if least == most else f"{least} to {most}"


def fates_of(con: duckdb.DuckDBPyConnection) -> tuple[tuple[str, str, int], ...]:
    """Of all rows received: fate, reason, count."""
    rows = con.execute(
        "select fate, coalesce(reason, ''), count(*) from tables.fates group by all order by 3 desc, 1, 2"
    ).fetchall()
    return tuple((fate, reason, count) for fate, reason, count in rows)


def _fate(fate: str, reason: str, count: int) -> str:
    return f"{count:,} {fate}" + (f" ({reason})" if reason else "")


def _received(con: duckdb.DuckDBPyConnection) -> str:
    """What the build was made from: everything received and every choice that was laid over it."""
    return str(con.execute("select * from settings.build").fetchall())


def _rounded(result: pl.DataFrame) -> str:
    return result.with_columns(cs.float().round_sig_figs(DIGITS)).write_csv()


def _hash(texts: Sequence[str] | Mapping[str, str]) -> str:
    return hashlib.sha256("\x1e".join(texts).encode()).hexdigest()
