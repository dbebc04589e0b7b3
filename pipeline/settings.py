"""The shop's own choices, kept as plain text in the store."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pipeline.errors import UnreadableError

FILE_NAME = "settings.toml"


@dataclass(frozen=True)
class Settings:
    """
    What a shop may choose.

    Attributes
    ----------
    time_zone : str
        IANA name in which moments without a zone are read, never the machine's own.
    currency : str
        ISO 4217 code of amounts that name none; empty for one unnamed currency.
    repeat_days : int
        A job counts as a repeat when it is reported within so many days of the earlier one's finish.
    guarantee_days : int
        How long the shop's own guarantee runs.
    """

    time_zone: str = "UTC"
    currency: str = ""
    repeat_days: int = 30
    guarantee_days: int = 90


def load_settings(store_folder: Path) -> Settings:
    """
    Settings of a store; what is not written there has its default.

    Raises
    ------
    UnreadableError
        If the file is no TOML, or holds an unknown name or a value out of range.
    """
    path = store_folder / FILE_NAME
    if not path.exists():
        return Settings()
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UnreadableError(f"{path} could not be read: {error}. Mend or remove it.") from None
    known = {field.name: type(field.default) for field in fields(Settings)}
    for name, value in values.items():
        _check(path, known, name, value)
    return Settings(**values)


def _check(path: Path, known: dict[str, type], name: str, value: Any) -> None:
    if name not in known:
        raise UnreadableError(f"{path}: no setting is named {name}; there are {', '.join(known)}.")
    # bool is an int to Python, but no number of days.
    if type(value) is not known[name]:
        raise UnreadableError(f"{path}: {name} must be a {known[name].__name__}, but was {value!r}.")
    if isinstance(value, int) and value < 0:
        raise UnreadableError(f"{path}: {name} must not be negative, but was {value}.")
    if isinstance(value, str) and name == "time_zone":
        check_time_zone(value, f"{path}: time_zone")
    if isinstance(value, str) and name == "currency" and not re.fullmatch("([A-Z]{3})?", value):
        raise UnreadableError(
            f"{path}: currency must be three capital letters (ISO 4217), but was {value!r}."
        )


def check_time_zone(value: str, where: str) -> None:
    """Refuse what is no IANA time zone, naming where it was written."""
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UnreadableError(
            f"{where} must be an IANA name such as Europe/Paris, but was {value!r}."
        ) from None
