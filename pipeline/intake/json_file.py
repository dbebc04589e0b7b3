"""JSON: lines of objects, or a list of them; lists of objects inside become rows of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property

import polars as pl

from pipeline.errors import UnreadableError
from pipeline.intake.block import BLOCK_BYTES, BLOCK_CELLS, Block, Header
from pipeline.intake.json_values import (
    LINES_LOOKED_AT,
    LONGEST_VALUE,
    DamagedError,
    Value,
    is_one_a_line,
    values_by_line,
    values_in_a_list,
)
from pipeline.intake.nested import Path, Row, TooNestedError, headers_of, rows_of
from pipeline.intake.source import Source, Survey
from pipeline.intake.text import text_chunks

START = 1 << 16
MOST_COLUMNS = 16_384  # as many as a sheet has; more are data used as names
NUL = "a NUL character"


class JsonFile:
    """A file of JSON. It is read once to learn which names there are, and again for its rows."""

    def __init__(self, source: Source, survey: Survey) -> None:
        self.source, self.survey = source, survey
        self.sheet: int | None = None
        self.title: str | None = None

    def headers(self) -> Sequence[Header]:
        """
        Names of all values that occur, in order of appearance.

        Raises
        ------
        UnreadableError
            If there is no object, or so many names that they are data, or the text is damaged.
        """
        if not self._paths:
            raise UnreadableError(
                f"{self.source.path} is JSON, but holds no row: write one object for each line of work, "
                "each on a line of its own (JSON lines) or all in a list."
            )
        return [Header(headers_of(self._paths))]

    @cached_property
    def _paths(self) -> dict[Path, int]:
        """Paths in order of appearance, with the number of rows that each stands in."""
        paths: dict[Path, int] = {}
        for value in self._values():
            for row in _read(value)[0]:
                for path in row:
                    paths[path] = paths.get(path, 0) + 1
            if len(paths) > MOST_COLUMNS:
                raise UnreadableError(
                    f"{self.source.path}: line {value.line}: more than {MOST_COLUMNS:,} different names of values. "
                    "Names must say what a value is; put numbers of jobs or machines among the values."
                )
        return paths

    def blocks(
        self, header: Header, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Block]:
        """Rows in blocks, in the order of the file. What is no object is a row with a problem."""
        most = max(1, min(BLOCK_CELLS, block_bytes // 8) // len(header.names))
        gathered = _Gathered(list(self._paths))
        for value in self._values(block_bytes, tell):
            rows, problem = _read(value)
            if problem is not None:
                gathered.add(None, value.line, problem, value.raw)
            for row in rows:
                if "\\u0000" in value.raw and _holds_nul(row):
                    # Only the rows that hold one: others of the same record can be read.
                    gathered.add(None, value.line, NUL, value.raw)
                else:
                    gathered.add(row, value.line)
                if len(gathered.rows) >= most:
                    yield gathered.block()
        if gathered.rows:
            yield gathered.block()

    def _values(
        self, block_bytes: int = BLOCK_BYTES, tell: Callable[[int], None] | None = None
    ) -> Iterator[Value]:
        chunks = text_chunks(self.source, self.survey.encoding, block_bytes, tell)
        try:
            yield from values_by_line(chunks) if self._is_one_a_line else values_in_a_list(chunks)
        except DamagedError as error:
            raise UnreadableError(f"{self.source.path}: line {error.line} {error.why}.") from None

    @cached_property
    def _is_one_a_line(self) -> bool:
        pieces, lines = [], 0
        for chunk in text_chunks(self.source, self.survey.encoding, START):
            pieces.append(chunk)
            lines += chunk.count(b"\n")
            if lines > LINES_LOOKED_AT or len(pieces) * START > LONGEST_VALUE:
                return is_one_a_line(b"".join(pieces), is_all=False)
        return is_one_a_line(b"".join(pieces), is_all=True)


def _read(value: Value) -> tuple[list[Row], str | None]:
    """Rows of a value, or what is wrong with it."""
    if value.record is None:
        return [], value.problem
    try:
        rows = rows_of(value.record)
    except TooNestedError as error:
        return [], f"JSON that is {error}"
    if "\\u" in value.raw:
        rows = [{tuple(map(_whole, path)): _whole(text) for path, text in row.items()} for row in rows]
    return rows, None


def _holds_nul(row: Row) -> bool:
    return any("\0" in text for text in row.values())


def _whole(text: str) -> str:
    """A text without half letters, which can be written in JSON, but are none."""
    return text.encode(errors="replace").decode()


class _Gathered:
    """Rows on their way to a block."""

    def __init__(self, paths: list[Path]) -> None:
        self.paths = paths
        self.first_record = 1
        self._clear()

    def _clear(self) -> None:
        self.rows: list[Row | None] = []
        self.lines: list[int] = []
        self.problems: list[str | None] = []
        self.raw: list[str | None] = []

    def add(self, row: Row | None, line: int, problem: str | None = None, raw: str | None = None) -> None:
        self.rows.append(row)
        self.lines.append(line)
        self.problems.append(problem)
        self.raw.append(raw)

    def block(self) -> Block:
        cells = pl.DataFrame(
            {
                str(n): pl.Series(
                    [None if row is None else row.get(path, "") for row in self.rows], dtype=pl.String
                )
                for n, path in enumerate(self.paths)
            }
        )
        numbers = range(self.first_record, self.first_record + len(self.rows))
        lines = [None if line == n + 1 else line for n, line in zip(numbers, self.lines, strict=True)]
        block = Block(
            cells,
            pl.Series(self.problems, dtype=pl.String),
            pl.Series(self.raw, dtype=pl.String),
            self.first_record,
            pl.Series("line", lines, dtype=pl.Int64),
        )
        self.first_record = numbers.stop
        self._clear()
        return block
