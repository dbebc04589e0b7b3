"""The demo: an invented firm's three years, its three headline figures, and what they say in plain words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import duckdb
import polars as pl

from pipeline.errors import WrongUseError
from pipeline.intake.source import Source, survey
from pipeline.load import load
from pipeline.measures import Question, evaluate
from pipeline.measures.safety_words import first_of_all
from pipeline.measures.words import headline_words
from pipeline.show import text_table
from pipeline.stock import replay
from pipeline.stock.van import basis_of, van_stock
from pipeline.stock.wish import Wish
from pipeline.store import key as keys
from pipeline.store.folder import Store
from sample_logs import standard_files

ROWS_SHOWN = 8
EXTRAS_SHOWN = ("median", "p80", "from", "complete_to")
HEADLINES: tuple[tuple[str, Question], ...] = (
    ("part-failure-rate", Question(by=("part_no",))),
    ("repeat-visits", Question(by=("part_no", "action"), kind="same-fault")),
    ("time-to-fix", Question(by=("unit_type",))),
)


def load_demo(store: Path, key: Path | None, say: Callable[[str], None]) -> None:
    """
    Load the sample into a store of its own.

    Raises
    ------
    WrongUseError
        If the store already holds another log: an invented firm must not be mixed into a real one.
    """
    files = standard_files()
    if not _holds_nothing_else(store, key, files.values()):
        raise WrongUseError(
            f"{store} already holds another log, and the demo must not be mixed into it: name another folder with --store."
        )
    say(
        "Loading the sample: an invented firm, three years of jobs, every number planted (sample_logs/README.md)."
    )
    load(
        store,
        [files["log"]],
        machines=files["machines"],
        parts=files["parts"],
        stock=files["stock"],
        notices=files["notices"],
        key_path=key,
    )


def _holds_nothing_else(store: Path, key_path: Path | None, files: Iterable[Path]) -> bool:
    """Whether every file in the store is one of the sample's, told by the keyed hash of its content."""
    received = Store(store).manifest
    if not received.active:
        return True
    key = keys.key_for(received.key_check, key_path or keys.default_path())
    return {entry.source_hash for entry in received.active} <= {
        survey(Source(path), key).source_hash for path in files
    }


def demo_text(store: Path) -> str:
    """Safety reports and notices, then the three headline tables, each under its measure's name, and what they say; last a van's stock."""
    with Store(store).connect() as con:
        first = first_of_all(con)
        parts = [_headline(name, evaluate(con, name, question)) for name, question in HEADLINES]
        parts.append(_what_to_carry(con))
    invented = "An invented firm. No person, maker, model or place in it is real."
    return "\n\n".join(filter(None, [invented, first, *parts]))


def _headline(name: str, result: pl.DataFrame) -> str:
    shown = _most_counted(result)
    more = result.height - shown.height
    tail = [f"({more} more rows: mendstat measure {name})"] if more > 0 else []
    return "\n".join([name, "=" * len(name), headline_words(name, result), "", text_table(shown), *tail])


def _what_to_carry(con: duckdb.DuckDBPyConnection) -> str:
    """What a better van stock would have done, in a sentence."""
    found = van_stock(basis_of(con), Wish())
    said = [
        f"A van's stock chosen for the same money as now ({len(found.stock.nonzero()[0])} lines, {found.cost:,.0f}).",
        replay.sentence(replay.replay(found)),
        "The list, and what to put in and take out: mendstat van-stock",
    ]
    return "\n".join(["van-stock", "=========", *said])


def _most_counted(result: pl.DataFrame) -> pl.DataFrame:
    """The rows with most behind them, in their own order: not a ranking."""
    top = result.with_row_index("at").sort("numerator", descending=True, maintain_order=True).head(ROWS_SHOWN)
    extras = result.columns[result.columns.index("note") + 1 :]
    columns = [name for name in result.columns if name not in extras or name in EXTRAS_SHOWN]
    return top.sort("at").select(columns)
