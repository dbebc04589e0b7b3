"""
The values of a JSON text, one by one with the lines they stand on: one object a line, or a list, or whole objects.

Of one object a line (JSON lines), a line that is no object costs itself only. In a list or an object over several
lines nothing tells where the next one begins after a mistake: there it costs the file.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

LONGEST_VALUE = 1 << 26
LINES_LOOKED_AT = 20

NOT_JSON = "not valid JSON"
NO_OBJECT = "JSON, but not an object of names and values"
TWICE = "an object with the same name twice"
TOO_DEEP = "JSON that is nested too deeply"

# How a JSON text of rows begins; a header of a CSV file does not.
_START = re.compile(rb'\s*(?:\{\s*(?:"|\}|\Z)|\[\s*(?:[\{\[\]]|\Z))')
_BETWEEN = re.compile(r"[\s,]*")
_SPACES = re.compile(r"\s*")


class DamagedError(ValueError):
    """From a line on, a JSON text cannot be read."""

    def __init__(self, line: int, why: str) -> None:
        super().__init__(why)
        self.line, self.why = line, why


class _RefusedError(ValueError):
    """A value is JSON, but not one that gives rows."""


@dataclass(frozen=True)
class Value:
    """
    One value.

    Attributes
    ----------
    line : int
        1-based line on which it begins.
    record : dict or None
        The object; None where there is a problem.
    raw : str
        As written.
    problem : str or None
        Why it is none.
    """

    line: int
    record: dict[str, Any] | None
    raw: str
    problem: str | None = None


def looks_like_json(start: bytes) -> bool:
    """Whether a text begins as JSON that may hold rows."""
    return _START.match(start) is not None


def is_one_a_line(start: bytes, *, is_all: bool) -> bool:
    """Whether most of the first filled lines of a text begin and end as an object does, broken inside or not."""
    if start.lstrip().startswith(b"["):
        return False
    lines = start.split(b"\n") if is_all else start.split(b"\n")[:-1]
    first = [line.rstrip() for line in lines if line.strip()][:LINES_LOOKED_AT]
    return 2 * sum(line[:1] == b"{" and line[-1:] == b"}" for line in first) >= len(first)


def values_by_line(chunks: Iterable[bytes]) -> Iterator[Value]:
    """
    One value for each filled line.

    Raises
    ------
    DamagedError
        If a line is longer than any record.
    """
    line, rest = 0, b""
    for chunk in chunks:
        lines = (rest + chunk).split(b"\n")
        rest = lines.pop()
        if len(rest) > LONGEST_VALUE:
            raise DamagedError(line + len(lines) + 1, f"is longer than {LONGEST_VALUE >> 20} MB")
        for text in lines:
            line += 1
            if text.strip():
                yield _value(line, text)
    if rest.strip():
        yield _value(line + 1, rest)


def _value(line: int, text: bytes) -> Value:
    raw = text.decode(errors="replace")
    try:
        value = _DECODER.decode(raw)
    except (ValueError, RecursionError) as error:
        return Value(line, None, raw, _problem(error))
    return _checked(line, value, raw)


def _checked(line: int, value: Any, raw: str) -> Value:
    return Value(line, value, raw) if isinstance(value, dict) else Value(line, None, raw, NO_OBJECT)


def _problem(error: Exception) -> str:
    if isinstance(error, RecursionError):
        return TOO_DEEP
    return str(error) if isinstance(error, _RefusedError) else NOT_JSON


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _RefusedError(TWICE)
    return found


def _constant(_name: str) -> None:
    """Give nothing for NaN and the infinities, which programs write where a number is missing."""


# A whole number is kept as its digits: a part number may be longer than any integer should be.
_DECODER = json.JSONDecoder(object_pairs_hook=_object, parse_int=str, parse_constant=_constant, strict=True)


def values_in_a_list(chunks: Iterable[bytes]) -> Iterator[Value]:
    """
    Values of a list, or objects one after the other, over as many lines as they like.

    Raises
    ------
    DamagedError
        If it cannot be read on.
    """
    return _Stream(iter(chunks)).values()


class _Stream:
    """Text that is read on where a value goes beyond what is there."""

    def __init__(self, chunks: Iterator[bytes]) -> None:
        self.chunks = chunks
        self.text, self.at, self.line = "", 0, 1
        self.held = b""
        self.is_all = False

    def values(self) -> Iterator[Value]:
        self._pass_by(_SPACES)
        is_list = self._next_is("[")
        while True:
            self._pass_by(_BETWEEN)
            if self.at == len(self.text):
                if is_list:
                    raise DamagedError(self.line, "ends before the list does")
                return
            if is_list and self._next_is("]"):
                self._pass_by(_SPACES)
                if self.at < len(self.text):
                    raise DamagedError(self.line, "goes on after the end of the list")
                return
            yield self._value()

    def _value(self) -> Value:
        line = self.line
        while True:
            try:
                value, end = _DECODER.raw_decode(self.text, self.at)
            except (ValueError, RecursionError) as error:
                value, end = None, len(self.text)
                if isinstance(error, RecursionError | _RefusedError) or self.is_all:
                    raise DamagedError(self._line_of(error), f"is {_problem(error)}") from None
            # What ends with the text may go on in the next piece.
            if end < len(self.text) or self.is_all:
                break
            if len(self.text) - self.at > LONGEST_VALUE:
                raise DamagedError(
                    line, f"holds a value longer than {LONGEST_VALUE >> 20} MB, or is not JSON"
                )
            self._read_on(len(self.text) - self.at)
        raw = self.text[self.at : end]
        self._move(end)
        return _checked(line, value, raw)

    def _line_of(self, error: Exception) -> int:
        at = error.pos if isinstance(error, json.JSONDecodeError) else self.at
        return self.line + self.text.count("\n", self.at, at)

    def _pass_by(self, pattern: re.Pattern[str]) -> None:
        while True:
            found = pattern.match(self.text, self.at)
            self._move(found.end() if found else self.at)
            if self.at < len(self.text) or self.is_all:
                return
            self._read_on(1)

    def _next_is(self, sign: str) -> bool:
        if not self.text.startswith(sign, self.at):
            return False
        self._move(self.at + 1)
        return True

    def _move(self, to: int) -> None:
        self.line += self.text.count("\n", self.at, to)
        self.at = to

    def _read_on(self, least: int) -> None:
        """Read on by so many characters, so that a long value is not tried at every piece."""
        pieces, count = [self.text[self.at :]], 0
        while count < least and not self.is_all:
            piece = next(self.chunks, None)
            self.is_all = piece is None
            data = self.held + (piece or b"")
            # A letter may be cut in two: the piece ends at the last whole line or with the text.
            cut = len(data) if self.is_all else data.rfind(b"\n") + 1 or _before_a_cut_letter(data)
            self.held = data[cut:]
            pieces.append(data[:cut].decode(errors="replace"))
            count += len(pieces[-1])
        self.text, self.at = "".join(pieces), 0


def _before_a_cut_letter(data: bytes) -> int:
    """End of the last whole letter of UTF-8, which has at most four bytes."""
    for back in range(1, min(4, len(data)) + 1):
        if data[-back] & 0xC0 != 0x80:
            return len(data) - back if data[-back] >= 0xC0 else len(data)
    return len(data)
