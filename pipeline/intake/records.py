"""
Where the records of a CSV text begin and end.

A record may hold line breaks inside quotation marks, and people type inch marks. The rules are those of RFC 4180
as Python's csv module reads them: a quotation mark opens a field only at the field's beginning, anywhere else it
is a character like another; inside, two of them are one. What these rules cannot read (a field that never closes,
text after a closing mark) costs its own first line and nothing more: that line becomes a record that is set
aside, and reading goes on with the next.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Positions = npt.NDArray[np.int64]

QUOTE, NEWLINE = 0x22, 0x0A
# A quoted field longer than this was never closed; without a limit one typing error would swallow a file.
LONGEST_RECORD = 1 << 17


@dataclass(frozen=True)
class Records:
    """
    Records of a block that begins with a record.

    Attributes
    ----------
    starts, ends : array of int
        Offsets of the first byte of each record, and of the line break that ends it (or of the end of the text).
    lines : array of int
        How many line breaks stand before each record.
    broken : array of bool
        Whether the record is a line that could not be read by the rules.
    rest : int
        Offset from which the text belongs to the next block.
    """

    starts: Positions
    ends: Positions
    lines: Positions
    broken: npt.NDArray[np.bool_]
    rest: int


def find_records(text: bytes, delimiter: str, *, is_last: bool) -> Records:
    """
    Cut a block into records.

    Parameters
    ----------
    text : bytes
        UTF-8, line ends as plain newlines, beginning at a record.
    delimiter : str
        One ASCII character.
    is_last : bool
        Whether no more text follows.
    """
    buffer = np.frombuffer(text, dtype=np.uint8)
    newlines = np.flatnonzero(buffer == NEWLINE)
    quotes = np.flatnonzero(buffer == QUOTE)
    if not quotes.size:
        return _records(newlines, newlines, np.zeros(newlines.size, dtype=bool), text, is_last=is_last)
    if _is_well_formed(buffer, quotes, ord(delimiter)):
        inside = np.searchsorted(quotes, newlines) % 2 == 1
        ends = newlines[~inside]
        open_end = quotes.size % 2 == 1
        starts = np.concatenate(([0], ends + 1))
        longest = int(np.diff(np.append(starts, len(text))).max())
        if longest <= LONGEST_RECORD and not (open_end and is_last):
            return _records(ends, newlines, np.zeros(ends.size, dtype=bool), text, is_last=is_last)
    ends, broken, rest = _walk(text, quotes, ord(delimiter), is_last=is_last)
    return _records(ends, newlines, broken, text, is_last=is_last, rest=rest)


def _records(
    ends: Positions,
    newlines: Positions,
    broken: npt.NDArray[np.bool_],
    text: bytes,
    *,
    is_last: bool,
    rest: int | None = None,
) -> Records:
    after = int(ends[-1]) + 1 if ends.size else 0
    if rest is None:
        rest = after
        if is_last and after < len(text):  # a last line without a line end is a record too
            ends, broken, rest = np.append(ends, len(text)), np.append(broken, False), len(text)
    starts = np.concatenate(([0], ends[:-1] + 1)) if ends.size else ends
    return Records(starts, ends, np.searchsorted(newlines, starts), broken, rest)


def _is_well_formed(buffer: npt.NDArray[np.uint8], quotes: Positions, delimiter: int) -> bool:
    """Whether every mark opens a field, closes one, or is half of a doubled one, in turn."""
    edges = np.zeros(256, dtype=bool)
    edges[[delimiter, NEWLINE]] = True
    touching = np.diff(quotes) == 1
    opening, closing = quotes[0::2], quotes[1::2]
    at_begin = (opening == 0) | edges[buffer[np.maximum(opening - 1, 0)]]
    at_begin[1:] |= touching[1::2][: opening.size - 1]
    last = buffer.size - 1
    at_end = (closing == last) | edges[buffer[np.minimum(closing + 1, last)]]
    follow = touching[1::2]
    at_end[: follow.size] |= follow
    return bool(at_begin.all() and at_end.all())


def _walk(
    text: bytes, quotes: Positions, delimiter: int, *, is_last: bool
) -> tuple[Positions, npt.NDArray[np.bool_], int]:
    """Cut record by record; slower, for blocks in which some mark is not where the rules want it."""
    walker = _Walker(text, quotes, delimiter, is_last=is_last)
    ends: list[int] = []
    broken: list[bool] = []
    start = 0
    while start < len(text):
        end, is_broken = walker.record(start)
        if end is None:
            return np.array(ends, dtype=np.int64), np.array(broken, dtype=bool), start
        ends.append(end)
        broken.append(is_broken)
        start = end + 1
    return np.array(ends, dtype=np.int64), np.array(broken, dtype=bool), len(text)


class _Walker:
    """Finds the end of one record after another."""

    def __init__(self, text: bytes, quotes: Positions, delimiter: int, *, is_last: bool) -> None:
        self.text, self.delimiter, self.is_last = text, delimiter, is_last
        self.quotes: list[int] = quotes.tolist()
        self.next = 0  # index of the first quotation mark not before the record

    def record(self, start: int) -> tuple[int | None, bool]:
        """End of the record at `start`, and whether it is a broken line; None where the block ends first."""
        while self.next < len(self.quotes) and self.quotes[self.next] < start:
            self.next += 1
        at, index = start, self.next
        while True:
            newline = self._line_end(at)
            index = self._opening(index, newline)
            if index >= len(self.quotes) or self.quotes[index] >= newline:
                return self._whole(newline), False
            closing = self._closing(index)
            reached = closing if closing is not None else len(self.text) - 1
            too_far = reached - start > LONGEST_RECORD
            if closing is None and not self.is_last and not too_far:
                return None, False
            if closing is None or too_far or not self._closes(closing):
                return self._whole(self._line_end(start)), True
            index = bisect_right(self.quotes, closing, index)
            at = closing + 1

    def _whole(self, end: int) -> int | None:
        """An end that may yet move with the next block is none."""
        return None if end == len(self.text) and not self.is_last else end

    def _line_end(self, start: int) -> int:
        found = self.text.find(b"\n", start)
        return len(self.text) if found < 0 else found

    def _opening(self, index: int, newline: int) -> int:
        """Index of the next mark that opens a field; marks in the middle of a field are passed over."""
        while index < len(self.quotes) and self.quotes[index] < newline:
            here = self.quotes[index]
            if here == 0 or self.text[here - 1] in (self.delimiter, NEWLINE):
                return index
            index += 1
        return index

    def _closing(self, opening: int) -> int | None:
        """Position of the mark that ends the field opened by mark number `opening`."""
        index = opening + 1
        while index < len(self.quotes):
            here = self.quotes[index]
            if index + 1 < len(self.quotes) and self.quotes[index + 1] == here + 1:
                index += 2
                continue
            # The very last byte of a block may be half of a doubled mark.
            return None if here == len(self.text) - 1 and not self.is_last else here
        return None

    def _closes(self, closing: int) -> bool:
        return closing + 1 == len(self.text) or self.text[closing + 1] in (self.delimiter, NEWLINE)
