"""A record with lists of records in it as rows: one for each innermost record, what stands outside repeated."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from pipeline.intake.canonical import number_text
from pipeline.intake.layouts import comparable

Path = tuple[str, ...]
Row = dict[Path, str]

DEEPEST = 16  # records within records; a log has job, visit, line
# Texts of one record with everything repeated; one short line could otherwise fill the memory.
LONGEST_RECORD = 1 << 27
# Share of the rows in which a key stands, up to which its other places are slips.
RARE = 0.1


class TooNestedError(ValueError):
    """A record is nested too deeply, or would be too much when everything outside is repeated."""


def rows_of(record: Mapping[str, Any]) -> list[Row]:
    """
    Rows of a record.

    Parameters
    ----------
    record : mapping
        As JSON gives it: texts, numbers, truth values, nothing, lists and records.

    Returns
    -------
    list of dict
        Texts by path, at least one. A record inside gives cells of the same row; a list of records gives a row for
        each of them; a list of plain values is one cell, joined by "; ".

    Raises
    ------
    TooNestedError
        See there.
    """
    return _rows(record, (), 0)


def _rows(record: Mapping[str, Any], above: Path, depth: int) -> list[Row]:
    cells: Row = {}
    inner: list[Row] = []
    _read(record, above, depth, cells, inner)
    if not inner:
        return [cells]
    if len(inner) * sum(len(text) + 8 for text in cells.values()) > LONGEST_RECORD:
        raise TooNestedError("too long with everything repeated")
    return [cells | row for row in inner]


def _read(record: Mapping[str, Any], above: Path, depth: int, cells: Row, inner: list[Row]) -> None:
    if depth > DEEPEST:
        raise TooNestedError(f"nested more than {DEEPEST} deep")
    for key, value in record.items():
        path = (*above, key)
        if isinstance(value, dict):
            _read(value, path, depth + 1, cells, inner)
        elif not isinstance(value, list):
            cells[path] = cell(value)
        elif any(isinstance(each, dict) for each in value):
            for each in value:
                inner += (
                    _rows(each, path, depth + 1)
                    if isinstance(each, dict)
                    else [{path: _joined([each], depth)}]
                )
        elif value:
            cells[path] = _joined(value, depth)


def _joined(values: Iterable[Any], depth: int) -> str:
    if depth > DEEPEST:
        raise TooNestedError(f"nested more than {DEEPEST} deep")
    texts = (_joined(each, depth + 1) if isinstance(each, list) else cell(each) for each in values)
    return "; ".join(text for text in texts if text)


def cell(value: Any) -> str:
    """One value as text. A record within a list of lists is no cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return number_text(value)
    if isinstance(value, dict):
        raise TooNestedError("a list of lists of records")
    return str(value)


def headers_of(paths: Mapping[Path, int]) -> tuple[str, ...]:
    """
    Headers of cells: the last key, or the whole path with dots where two of them would be alike.

    Parameters
    ----------
    paths : mapping of path to int
        In how many rows each stands. One beside which the others are rare keeps its last key for itself: a slip in one
        record must not rename a column of all.
    """
    rows = Counter[str]()
    for path, count in paths.items():
        rows[comparable(path[-1])] += count

    def header(path: Path, count: int) -> str:
        every = rows[comparable(path[-1])]
        return path[-1] if every - count <= RARE * every else ".".join(path)

    return tuple(header(path, count) for path, count in paths.items())
