"""Layouts from their TOML files: the ones that come with mendstat, and the shop's own."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.errors import UnreadableError
from pipeline.intake.layout_entries import Entries
from pipeline.intake.layout_serial import serial_rule
from pipeline.intake.layouts import Layout
from pipeline.settings import check_time_zone
from pipeline.standard_log import LISTS

_TEXTS = ("name", "describes", "kind", "source", "source_from", "time_zone", "technician_from")
_HEADERS = ("required", "one_of", "absent")
_TABLES = ("columns", "constants", "missing", "values", "set_aside", "forms", "record", "completes", "serial")
_COLUMNS = ("not_recorded", "split")


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
    entries = Entries(content, kind, where)
    return Layout(
        name=content["name"],
        describes=content.get("describes", ""),
        kind=kind,
        columns=entries.columns(),
        source=content.get("source", "" if content.get("source_from") else content["name"]),
        source_from=content.get("source_from", ""),
        required=entries.headers("required"),
        one_of=entries.headers("one_of"),
        absent=entries.headers("absent"),
        missing=entries.missing(),
        values=entries.values(),
        lines_may_repeat=content.get("lines_may_repeat", False) is True,
        time_zone=content.get("time_zone") or None,
        not_recorded=entries.not_recorded(),
        constants=entries.constants(),
        set_aside=entries.set_aside(),
        forms=entries.forms(),
        split=entries.split(),
        record=entries.record(),
        completes=entries.completes(),
        serial=serial_rule(entries),
        technician_from=entries.technician_from(),
        hash=hashlib.sha256(text.encode()).hexdigest()[:16],
    )


def _refuse_unknown(content: dict[str, Any], where: str) -> None:
    known = {*_TEXTS, *_HEADERS, *_TABLES, *_COLUMNS, "lines_may_repeat"}
    unknown = sorted(content.keys() - known)
    if unknown:
        raise UnreadableError(
            f"{where}: a layout has no entry {unknown[0]!r}; it has {', '.join(sorted(known))}."
        )
