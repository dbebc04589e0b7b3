"""The first rows of a file, in memory only: which record is its header, which rows are sums, what stands in its columns."""

from __future__ import annotations

import re
import secrets
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.intake.block import Header, Table
from pipeline.intake.layouts import comparable
from pipeline.intake.recognise import display_name, looks_like_data
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.recognition.header_words import listed, scores
from pipeline.store.key import KEY_BYTES, Key

# So many rows say how a file is written; the load looks at all of them again.
MOST_ROWS = 20_000
BLOCK_BYTES = 1 << 20
# A row of sums has few of its cells filled.
SUM_FILLED = 0.5
_NAMES = 2.0  # what a header word weighs beside a filled field, when the header is looked for
_SIGNS = " .:*="
MOST_VALUES = 0.3  # share of the names of columns that may look like values: "@", "2024"
LONGEST_NAME = 40
# A word and a number, as programs name columns that nobody named.
_COUNTED = re.compile(r"^([^\W\d_]{1,12}[ _.-]?)(\d{1,3})$")
FEWEST_COUNTED = 4
_DIGITS = re.compile(r"\d{2}")
_WORDS = re.compile(r"[^\W\d_]{2,}")


@dataclass(frozen=True)
class Sample:
    """
    What is looked at of a file.

    Attributes
    ----------
    name : str
        What to call the file: scrubbed.
    tables : tuple of Table
        The table, or the sheets of a workbook that have one header.
    header : Header
        Its header.
    cells : frame
        Text columns named by position, trimmed; rows that are sums or the header again are left out.
    sums : mapping of int to tuple of str
        By position the words that mark a row of sums.
    other_sheets : tuple of int
        Numbers of the sheets that have another header and are not looked at.
    """

    name: str
    tables: tuple[Table, ...]
    header: Header
    cells: pl.DataFrame
    sums: dict[int, tuple[str, ...]]
    other_sheets: tuple[int, ...] = ()


def throwaway_key() -> Key:
    """A key for pseudonyms that nobody can ever match: they only stand in for what is not shown."""
    return Key(secrets.token_hex(KEY_BYTES))


def take_sample(source: Source, key: Key, most_rows: int = MOST_ROWS) -> Sample:
    """
    Read the first rows of a file.

    Raises
    ------
    UnreadableError
        If it cannot be read.
    CannotAnswerError
        If no record of it names the columns.
    """
    name = display_name(source.path)
    found = tables_of(source, survey(source, key)).tables
    headers = [best_header(table.headers()) for table in found]
    alike: Counter[tuple[str, ...]] = Counter()
    for header in headers:
        alike[_names(header)] += header.width
    # Sheets of one kind are one file; where they differ, the kind that holds most is looked at.
    chosen = max(alike, key=lambda names: alike[names])
    group = [n for n, header in enumerate(headers) if _names(header) == chosen]
    header = headers[group[0]]
    if _is_data(header) or header.width < 2:
        raise CannotAnswerError(
            f"{name}: no record among the first names the columns. Write a line of column names above the rows, then try again."
        )
    # A few rows of each sheet, rather than all rows of the first.
    each = max(1, most_rows // len(group))
    cells = pl.concat([first_rows(found[n], headers[n], each) for n in group])
    again = [comparable(each) for each in header.names]
    first = next(n for n, name in enumerate(again) if name)
    near = (cells.get_column(str(first)).str.to_lowercase() == header.names[first].strip().lower()).arg_true()
    same = [row for row in near if [comparable(cell) for cell in cells.row(row)] == again]
    cells = cells.filter(~pl.int_range(cells.height, eager=True).is_in(same))
    cells, sums = _without_sums(cells, header)
    others = tuple(table.sheet for n, table in enumerate(found) if n not in group and table.sheet is not None)
    return Sample(name, tuple(found[n] for n in group), header, cells, sums, others)


def best_header(candidates: Sequence[Header]) -> Header:
    """The record that most looks as if it named the columns; of equal ones the first."""
    widths: dict[str, Counter[int]] = {}
    for each in candidates:
        widths.setdefault(each.delimiter, Counter())[len(each.names)] += 1

    def likeness(header: Header) -> tuple[float, int]:
        names = [name.strip() for name in header.names if name.strip()]
        # What is long or holds digits is no name of a column; only the others are looked up.
        short = [name for name in names if len(name) <= LONGEST_NAME and not _DIGITS.search(name)]
        known = sum(max(scores(name).values(), default=0) > 2 for name in short)
        words = sum(bool(_WORDS.search(name)) for name in names)
        if _is_counted(names):
            return float(min(widths[header.delimiter][len(names)], 10) + len(names)), -header.above
        strange = sum(looks_like_data([name]) for name in names) + sum(len(name) > 60 for name in names)
        twice = len(names) - len({comparable(name) for name in names})
        as_wide = widths[header.delimiter][len(header.names)] if len(header.names) > 1 else 0
        value = min(as_wide, 10) + words + _NAMES * known - 3.0 * strange - 2.0 * twice
        return value if len(names) > 1 else value - 10, -header.above

    return max(candidates, key=likeness)


def _is_data(header: Header) -> bool:
    """Whether too many of its fields are values for a record to name columns."""
    named = [name for name in header.names if name.strip()]
    if _is_counted(named):
        return False
    return sum(looks_like_data([name]) for name in named) > MOST_VALUES * len(named)


def _is_counted(names: Sequence[str]) -> bool:
    """Whether names are one word and a number that counts up: c01, c02, c03; Field 1, Field 2."""
    found = [_COUNTED.match(name.strip()) for name in names]
    if len(names) < FEWEST_COUNTED or not all(found):
        return False
    parts = [each.groups() for each in found if each]
    numbers = [int(number) for _, number in parts]
    return len({word for word, _ in parts}) == 1 and numbers == list(
        range(numbers[0], numbers[0] + len(numbers))
    )


def _names(header: Header) -> tuple[str, ...]:
    return tuple(comparable(name) for name in header.names)


def first_rows(table: Table, header: Header, most: int = MOST_ROWS) -> pl.DataFrame:
    """The first good rows under a header: text columns named by position, trimmed."""
    taken, frames = 0, []
    schema = {str(n): pl.String for n in range(len(header.names))}
    for block in table.blocks(header, BLOCK_BYTES):
        good = block.cells.filter(block.problem.is_null()).head(most - taken)
        frames.append(good.select(pl.all().fill_null("").str.strip_chars()))
        taken += good.height
        if taken >= most:
            break
    return pl.concat([pl.DataFrame(schema=schema), *frames])


def _without_sums(cells: pl.DataFrame, header: Header) -> tuple[pl.DataFrame, dict[int, tuple[str, ...]]]:
    """Rows without those that only add others up, and by which words these are told."""
    words = listed()["totals"]["words"]
    filled = cells.select(pl.sum_horizontal(pl.all() != "")).to_series()
    usual = float(filled.median() or 0)  # type: ignore[arg-type]
    found: dict[int, set[str]] = {}
    is_sum = pl.Series([False]).new_from_index(0, cells.height)
    for position, name in enumerate(header.names):
        column = cells.get_column(str(position))
        says = column.str.strip_chars(_SIGNS).str.to_lowercase().is_in(words) & (filled <= SUM_FILLED * usual)
        if name.strip() and says.any():
            found[position] = set(column.filter(says).to_list())
            is_sum |= says
    return cells.filter(~is_sum), {at: tuple(sorted(said)) for at, said in found.items()}
