"""One mutated file, and what may become of it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from tests.fuzz import plain
from tests.fuzz.samples import Sample, packed

ASK_UP_TO = 0.7  # share of a sample's rows that are as they were: of no more a column may be undecidable


@dataclass(frozen=True)
class Case:
    """
    A mutated file.

    Attributes
    ----------
    sample : Sample
        What it was.
    what : str
        What was done to it, to find it again.
    content : bytes
        What it is now.
    rows : int or None
        How many rows it has; None where only the file itself can say.
    touched : frozenset of int or None
        Numbers of the records that may be set aside; None for all.
    is_header_touched, is_column_touched : bool
        Then a question is an answer.
    may_be_refused : bool
        Whether the file may be refused whole: its bytes were mutated, or its header.
    seed : int
        By which it was made; -1 where none was.
    """

    sample: Sample
    what: str
    content: bytes
    rows: int | None = None
    touched: frozenset[int] | None = None
    is_header_touched: bool = False
    is_column_touched: bool = False
    may_be_refused: bool = True
    seed: int = -1

    @property
    def may_ask(self) -> bool:
        """Whether a question is an answer."""
        if self.is_header_touched or self.is_column_touched or self.touched is None:
            return True
        # Of a few rows, as of many that were touched, nothing may decide how a column is written.
        return self.rows is not None and self.rows - len(self.touched) <= ASK_UP_TO * len(self.sample.rows)


def case_of_bytes(sample: Sample, what: str, content: bytes) -> Case:
    """A case of mutated bytes; what may become of a text is worked out from its records."""
    if sample.form == "delimited":
        return _case_of_text(sample, what, content)
    if sample.form == "json":
        return _case_of_lines(sample, what, content)
    return Case(sample, what, content)


def case_of_packed(sample: Sample, what: str, text: bytes) -> Case:
    """A case of mutated bytes that are packed afterwards."""
    case = _case_of_text(sample, what, text)
    content = packed(lambda _header, _rows: text)((), ())
    return Case(sample, what, content, case.rows, case.touched, case.is_header_touched)


def _case_of_text(sample: Sample, what: str, content: bytes) -> Case:
    unpacked = Sample("", "delimited", sample.header, sample.rows, _unpacked(sample), sample.delimiter)
    header, *before = plain.records_of(plain.text_of(unpacked.content), sample.delimiter)
    records = plain.records_of(plain.text_of(content), sample.delimiter)
    if not records or records[0] != header:
        return Case(sample, what, content, is_header_touched=True)
    return Case(sample, what, content, len(records) - 1, _unlike(records[1:], before))


def _unpacked(sample: Sample):
    return sample.write.__closure__[0].cell_contents if sample.form == "packed" else sample.write


def _case_of_lines(sample: Sample, what: str, content: bytes) -> Case:
    before = plain.lines_of(plain.text_of(sample.content))
    lines = plain.lines_of(plain.text_of(content))
    # A mistake in a list or in an object over several lines costs the file; here most lines must be whole objects.
    whole = sum(line[:1] == "{" and line.rstrip()[-1:] == "}" for line in lines[:20])
    # The first line says that it is JSON at all.
    if 2 * whole < len(lines[:20]) or not whole or not re.match(r'\s*\{\s*"', lines[0]):
        return Case(sample, what, content, is_header_touched=True)
    counts = [plain.rows_in(line) for line in lines]
    unlike = _unlike(lines, before)
    touched, first = [], 1
    for number, count in enumerate(counts, start=1):
        touched += range(first, first + count) if number in unlike else ()
        first += count
    # A name of a value that is nowhere else is a column more, one that is lost everywhere a column less.
    return Case(sample, what, content, first - 1, frozenset(touched))


def _unlike(records: Sequence[str], before: Sequence[str]) -> frozenset[int]:
    """Numbers of the records that do not stand in the file as it was."""
    known = Counter(before)
    return frozenset(number for number, record in enumerate(records, start=1) if not known[record])
