"""Layouts from their TOML files: the ones that come with mendstat, and the shop's own."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.errors import UnreadableError
from pipeline.intake.layouts import Layout
from pipeline.settings import check_time_zone
from pipeline.standard_log import LISTS, column_names

_TEXTS = ("name", "describes", "kind", "source", "source_from", "time_zone")
_HEADERS = ("required", "one_of", "absent")


def known_layouts(own_folder: Path | None = None) -> dict[str, Layout]:
    """
    Every layout by name: the ones that come with mendstat, and the shop's own, which win.

    Raises
    ------
    UnreadableError
        If one of the shop's files is no layout.
    """
    shipped = [
        read_layout(entry.read_text(encoding="utf-8"), entry.name)
        for entry in resources.files("pipeline.layouts").iterdir()
        if entry.name.endswith(".toml")
    ]
    own = []
    if own_folder is not None and own_folder.is_dir():
        for path in sorted(own_folder.glob("*.toml")):
            try:
                own.append(replace(read_layout(path.read_text(encoding="utf-8"), str(path)), is_own=True))
            except (OSError, UnicodeDecodeError):
                raise UnreadableError(f"{path} could not be read. Mend or remove it.") from None
    return {layout.name: layout for layout in sorted(shipped, key=lambda layout: layout.name) + own}


def read_layout(text: str, where: str) -> Layout:
    """
    Layout from the text of its TOML file.

    Raises
    ------
    UnreadableError
        With the file, the entry and the rule it breaks.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UnreadableError(f"{where} is no TOML: {error}. Mend or remove it.") from None
    kind = content.get("kind", "log")
    if kind not in LISTS:
        raise UnreadableError(f"{where}: kind must be one of {', '.join(LISTS)}, but was {kind!r}.")
    for name in _TEXTS:
        if not isinstance(content.get(name, ""), str):
            raise UnreadableError(f"{where}: {name} must be a text.")
    if not content.get("name"):
        raise UnreadableError(f'{where}: a layout needs a name, such as name = "our-office-export".')
    if content.get("time_zone"):
        check_time_zone(content["time_zone"], f"{where}: time_zone")
    _refuse_unknown(content, where)
    return Layout(
        name=content["name"],
        describes=content.get("describes", ""),
        kind=kind,
        columns=_columns(content.get("columns", "standard"), kind, where),
        source=content.get("source", "" if content.get("source_from") else content["name"]),
        source_from=content.get("source_from", ""),
        required=_headers(content, "required", where),
        one_of=_headers(content, "one_of", where),
        absent=_headers(content, "absent", where),
        missing={
            column: _texts(markers, f"{where}: missing.{column}")
            for column, markers in _table(content, "missing", kind, where).items()
        },
        values={
            column: _words(words, f"{where}: values.{column}")
            for column, words in _table(content, "values", kind, where).items()
        },
        lines_may_repeat=content.get("lines_may_repeat", False) is True,
        time_zone=content.get("time_zone") or None,
        hash=hashlib.sha256(text.encode()).hexdigest()[:16],
    )


def _refuse_unknown(content: dict[str, Any], where: str) -> None:
    known = {*_TEXTS, *_HEADERS, "columns", "missing", "values", "lines_may_repeat"}
    unknown = sorted(content.keys() - known)
    if unknown:
        raise UnreadableError(
            f"{where}: a layout has no entry {unknown[0]!r}; it has {', '.join(sorted(known))}."
        )


def _columns(entry: Any, kind: str, where: str) -> dict[str, tuple[str, ...]]:
    if entry == "standard":
        return {name: (name,) for name in column_names(kind)}
    if not isinstance(entry, dict) or not entry:
        raise UnreadableError(f'{where}: columns must be "standard" or a table of column = "header".')
    _refuse_strange_columns(entry, kind, f"{where}: columns")
    columns = {
        column: _texts([value] if isinstance(value, str) else value, f"{where}: columns.{column}")
        for column, value in entry.items()
    }
    identities = {column.name for column in LISTS[kind] if column.kind == "identity"}
    for column, headers in columns.items():
        if len(headers) > 1 and column not in identities:
            raise UnreadableError(f"{where}: {column} is made from several headers; only an identity can be.")
    return columns


def _table(content: dict[str, Any], name: str, kind: str, where: str) -> dict[str, Any]:
    table = content.get(name, {})
    if not isinstance(table, dict):
        raise UnreadableError(f"{where}: {name} must be a table by column.")
    _refuse_strange_columns(table, kind, f"{where}: {name}")
    return table


def _refuse_strange_columns(table: dict[str, Any], kind: str, where: str) -> None:
    strange = [column for column in table if column not in column_names(kind)]
    if strange:
        raise UnreadableError(f"{where}: {strange[0]!r} is no column of a file of kind {kind}.")


def _headers(content: dict[str, Any], name: str, where: str) -> tuple[str, ...]:
    return _texts(content[name], f"{where}: {name}") if content.get(name) else ()


def _texts(value: Any, where: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not value or not _all_texts(value):
        raise UnreadableError(f"{where} must be a list of one or more texts.")
    return tuple(value)


def _words(value: Any, where: str) -> dict[str, str]:
    if not isinstance(value, dict) or not _all_texts(value.values()):
        raise UnreadableError(f'{where} must be a table of "word in the file" = "meaning".')
    return dict(value)


def _all_texts(values: Any) -> bool:
    return all(isinstance(item, str) for item in values)
