"""Lengths of time as people type them.

A cell may say its unit itself ("1h30", "90 min", "1:30", "½ h"): it is read the same in every form. A form says what
a bare number is: minutes, hours, hours.minutes ("1.30" is an hour and thirty minutes) or a part of a day, as
spreadsheets keep times.
"""

from __future__ import annotations

from pipeline.normalise.form import Form, with_match

_HOURS = r"(?:h|hr|hrs|hour|hours|std|stunde|stunden|uur|uren|heure|heures)\.?"
_MINUTES = r"(?:m|min|mins|minute|minutes|minuten|minuut|''|’|′)\.?"
# A comma with exactly three digits after it may part thousands; such a number is not guessed.
_DECIMAL = r"\d{1,5}(?:\.\d*|,\d{1,2}|,\d{4,})?|0,\d{3}|[.,]\d+"
_FRACTIONS = {"½": 30, "¼": 15, "¾": 45, "1/2": 30, "1/4": 15, "3/4": 45}
MOST_HOURS = 24  # of one visit; a larger bare number in a column of hours is none
SECONDS = 60  # a minute: lengths worked out from parts of a day are kept to the second


def _decimal(text: str) -> str:
    return f"try_cast(replace({text}, ',', '.') as double)"


def _whole(text: str) -> str:
    return f"coalesce(try_cast({text} as integer), 0)"


# 1h30, 1 hr 30 min, 2 Std
_HOURS_AND = with_match(
    "lower({c})",
    rf"^(\d{{1,3}})\s*{_HOURS}\s*(?:(\d{{1,2}})\s*(?:{_MINUTES})?)?$",
    "h n",
    f"case when m.h <> '' and {_whole('m.n')} < 60 then {_whole('m.h')} * 60.0 + {_whole('m.n')} end",
)
# 1:30, 01:30:00
_CLOCK = with_match(
    "lower({c})",
    rf"^(\d{{1,3}}):(\d{{2}})(?::(\d{{2}}))?\s*(?:{_HOURS})?$",
    "h n s",
    "case when m.h <> '' and m.n < '60' and m.s < '60' then "
    f"{_whole('m.h')} * 60.0 + {_whole('m.n')} + {_whole('m.s')} / {SECONDS}.0 end",
)
_IN_MINUTES = with_match(
    "lower({c})", rf"^({_DECIMAL})\s*{_MINUTES}$", "n", f"case when m.n <> '' then {_decimal('m.n')} end"
)
# PT1H30M, as ISO 8601 has it
_ISO = with_match(
    "lower({c})",
    r"^(pt)(?:(\d{1,3})h)?(?:(\d{1,4})m)?$",
    "p h n",
    f"case when m.h || m.n <> '' then {_whole('m.h')} * 60.0 + {_whole('m.n')} end",
)
_PARTS = " ".join(f"when '{written}' then {minutes}" for written, minutes in _FRACTIONS.items())
# ½, 1½ h, 1 1/2 hr
_FRACTION = with_match(
    "lower({c})",
    rf"^(?:(\d{{1,2}})\s*(½|¼|¾)|(\d{{1,2}})\s+([13]/[24])|(½|¼|¾|[13]/[24]))\s*(?:{_HOURS})?$",
    "a b c d e",
    f"(case m.b || m.d || m.e {_PARTS} end) + {_whole('m.a || m.c')} * 60.0",
)
_MARKED = f"coalesce({_HOURS_AND}, {_CLOCK}, {_IN_MINUTES}, {_FRACTION}, {_ISO})"
_BARE = rf"^([+-]?(?:{_DECIMAL}))$"
_BARE_OR_HOURS = rf"^([+-]?(?:{_DECIMAL}))\s*(?:{_HOURS})?$"


def _number(pattern: str) -> str:
    return with_match("lower({c})", pattern, "v", f"case when m.v <> '' then {_decimal('m.v')} end")


# What a cell without a unit says, and what one says that has no unit or that of hours.
BARE = _number(_BARE)
HOURS = _number(_BARE_OR_HOURS)
# Digits after the mark of such a cell.
DIGITS = with_match(
    "lower({c})", rf"^[+-]?\d*[.,](\d*)\s*(?:{_HOURS})?$", "f", "case when m.f <> '' then m.f end"
)


def _to_seconds(minutes: str) -> str:
    return f"round(({minutes}) * {SECONDS}) / {SECONDS}"


_IN_HOURS = f"case when abs({HOURS}) <= {MOST_HOURS} then {_to_seconds(f'{HOURS} * 60')} end"
# "1.3" is "1.30" to a spreadsheet, which drops the last nought.
_AFTER_DOT = "rpad(m.n, 2, '0')"


def _hours_minutes(pattern_end: str) -> str:
    return with_match(
        "lower({c})",
        rf"^(\d{{1,2}})(?:[.,](\d{{1,2}}))?\s*{pattern_end}$",
        "h n",
        f"case when m.h <> '' and {_AFTER_DOT} < '60' and {_whole('m.h')} <= {MOST_HOURS} "
        f"then {_whole('m.h')} * 60.0 + {_whole(_AFTER_DOT)} end",
    )


_READ = {
    # The number itself comes first: nearly every cell of a column of minutes is one.
    "minutes": f"coalesce({BARE}, {_MARKED}, {_IN_HOURS})",
    "minutes, and hours.minutes": f"coalesce({BARE}, {_MARKED}, {_hours_minutes(_HOURS)})",
    # A small part of a minute is more likely hours that somebody typed among the minutes.
    "minutes from 5": f"coalesce(case when {BARE} >= 5 or {BARE} = floor({BARE}) then {BARE} end, {_MARKED}, "
    f"case when {BARE} is null then {_IN_HOURS} end)",
    "hours": f"coalesce({_MARKED}, {_IN_HOURS})",
    "hours.minutes": f"coalesce({_MARKED}, {_hours_minutes(f'(?:{_HOURS})?')})",
    "parts of a day": f"coalesce({_MARKED}, case when abs({BARE}) < 1 then {_to_seconds(f'{BARE} * 1440')} end)",
}
MINUTES_FORMS = tuple(Form(name, "minutes", read) for name, read in _READ.items())
