"""
Which records a text holds, worked out in plain Python, one sign at a time, from what the readers promise.

A text is UTF-8, or UTF-16 with a mark, else Windows-1252. A line end is any of three. A quotation mark opens a field only
at its beginning; inside, two are one; a field that never closes, or goes on after its end, costs its own first line.
"""

from __future__ import annotations

import codecs
import json
from typing import Any

LONGEST_RECORD = 1 << 17  # bytes; a quoted field beyond this was never closed


def text_of(content: bytes) -> str:
    """Text of a file with plain line ends."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        text = content.decode("utf-16", errors="replace")
    else:
        try:
            text = content.decode("utf-8")
        except UnicodeDecodeError:
            text = content.decode("cp1252", errors="replace")
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def records_of(text: str, delimiter: str) -> list[str]:
    """Records of a delimited text as written, empty ones left out."""
    found = []
    at = 0
    while at < len(text):
        end = _end_of_record(text, at, delimiter)
        found.append(text[at:end])
        at = end + 1
    return [record for record in found if record.strip()]


def _end_of_record(text: str, start: int, delimiter: str) -> int:
    end_of_line = _found(text, "\n", start)
    at = start
    while True:
        if text.startswith('"', at):
            closing = _closing(text, at)
            if closing is None or len(text[start:closing].encode()) > LONGEST_RECORD:
                return end_of_line
            at = closing + 1
            if at < len(text) and text[at] not in (delimiter, "\n"):
                return end_of_line
        at = min(_found(text, delimiter, at), _found(text, "\n", at))
        if at == len(text) or text[at] == "\n":
            return at
        at += 1


def _closing(text: str, opening: int) -> int | None:
    at = opening + 1
    while (at := text.find('"', at)) >= 0:
        if not text.startswith('""', at):
            return at
        at += 2
    return None


def _found(text: str, sign: str, start: int) -> int:
    at = text.find(sign, start)
    return len(text) if at < 0 else at


def lines_of(text: str) -> list[str]:
    """Filled lines of a text."""
    return [line for line in text.split("\n") if line.strip()]


def rows_in(line: str) -> int:
    """How many rows a line of JSON gives: one for each innermost object, one for a line that is none."""
    try:
        value = json.loads(line, object_pairs_hook=_object)
        return _innermost(value) if isinstance(value, dict) else 1
    except (ValueError, RecursionError):
        return 1


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(dict(pairs)) != len(pairs):
        raise ValueError
    return dict(pairs)


def _innermost(value: dict[str, Any]) -> int:
    return max(1, _inner(value))


def _inner(value: dict[str, Any]) -> int:
    """Rows of the lists of objects in an object, those in objects of it among them."""
    rows = 0
    for each in value.values():
        if isinstance(each, dict):
            rows += _inner(each)
        elif isinstance(each, list) and any(isinstance(one, dict) for one in each):
            rows += sum(_innermost(one) if isinstance(one, dict) else _plain(one) for one in each)
        elif isinstance(each, list):
            _plain(each)
    return rows


def _plain(value: Any) -> int:
    """One row for values that are no objects; objects in lists of lists are none that can be read."""
    if isinstance(value, list) and any(isinstance(one, dict) or _plain(one) > 1 for one in value):
        raise ValueError
    return 1
