"""The shop's own choices, kept as plain text in the store."""

from __future__ import annotations

import math
import re
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pipeline.errors import UnreadableError

FILE_NAME = "settings.toml"
# How the shop charges, and what it does about a return: each piece of the bill as the log has it and returns free; one
# price for every fix; or, on a return of a cleaned part, the new part charged and the labour not charged again.
ITEMISED, FLAT, LABOUR_CREDITED = "itemised", "flat", "labour credited on return"
PRICINGS = (ITEMISED, FLAT, LABOUR_CREDITED)
# Above this an amount is a slip of the pen: a monthly cost, or minor units.
MOST = 1_000_000.0
AMOUNTS = ("hour_costs", "flat_price", "customer_day")


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
    hour_costs : float or None
        What an hour of the shop's own work costs it, wages and van together, in major units; None where not said.
    pricing : str
        One of PRICINGS.
    flat_price : float or None
        The one price of a fix, in major units; needed where pricing is flat.
    customer_day : float or None
        What a day without the machine costs a customer, in major units; None where not said.
    """

    time_zone: str = "UTC"
    currency: str = ""
    repeat_days: int = 30
    guarantee_days: int = 90
    hour_costs: float | None = None
    pricing: str = ITEMISED
    flat_price: float | None = None
    customer_day: float | None = None


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
    for name, value in values.items():
        _check(path, name, value)
    if values.get("pricing") == FLAT and "flat_price" not in values:
        raise UnreadableError(
            f'{path}: pricing is "{FLAT}", so flat_price is needed too; write flat_price = 140.00, say.'
        )
    chosen: dict[str, Any] = {
        name: float(value) if name in AMOUNTS else value for name, value in values.items()
    }
    return Settings(**chosen)


def _check(path: Path, name: str, value: Any) -> None:
    known = {field.name: type(field.default) for field in fields(Settings)}
    if name not in known:
        raise UnreadableError(f"{path}: no setting is named {name}; there are {', '.join(known)}.")
    if name in AMOUNTS:
        _check_amount(path, name, value)
        return
    # bool is an int to Python, but no number of days.
    if type(value) is not known[name]:
        raise UnreadableError(f"{path}: {name} must be a {known[name].__name__}, but was {value!r}.")
    if isinstance(value, int) and value < 0:
        raise UnreadableError(f"{path}: {name} must not be negative, but was {value}.")
    if isinstance(value, str):
        _check_word(path, name, value)


def _check_word(path: Path, name: str, value: str) -> None:
    if name == "time_zone":
        check_time_zone(value, f"{path}: time_zone")
    if name == "currency" and not re.fullmatch("([A-Z]{3})?", value):
        raise UnreadableError(
            f"{path}: currency must be three capital letters (ISO 4217), but was {value!r}."
        )
    if name == "pricing" and value not in PRICINGS:
        raise UnreadableError(f"{path}: pricing must be one of {', '.join(PRICINGS)}, but was {value!r}.")


def _check_amount(path: Path, name: str, value: Any) -> None:
    is_number = type(value) in (int, float) and math.isfinite(value)
    if not is_number or not 0 < value <= MOST:
        raise UnreadableError(
            f"{path}: {name} must be an amount above 0 and at most {MOST:,.0f}, such as 35.00, but was {value!r}."
        )


def check_time_zone(value: str, where: str) -> None:
    """Refuse what is no IANA time zone, naming where it was written."""
    try:
        ZoneInfo(value)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UnreadableError(
            f"{where} must be an IANA name such as Europe/Paris, but was {value!r}."
        ) from None
