"""Dates and times as people type them.

Each reader below reads one unambiguous way of writing, or numbers with the day, the month or the year first. A form
is a few readers together: a column of typed days often holds a few written out, or in ISO, as well.

Two-digit years: 00 to 68 are 2000 to 2068, 69 to 99 are 1969 to 1999 (the rule of POSIX `strptime`, from memory).
"""

from __future__ import annotations

from pipeline.normalise.form import Form, with_match

ZONE = r"(Z|[+-]\d{2}(:?\d{2})?)"
_ISO_DAY = r"\d{4}-\d{2}-\d{2}"
_ISO_MOMENT = _ISO_DAY + r"([T ]\d{1,2}:\d{2}(:\d{2}(\.\d{1,9})?)?" + ZONE + "?)?"

# English, German, Dutch, French; full and short, with and without accents.
MONTHS = (
    "jan january januar januari janv janvier",
    "feb february februar februari févr fevr février fevrier",
    "mar march mrz märz maerz mrt maart mars",
    "apr april avr avril",
    "may mai mei",
    "jun june juni juin",
    "jul july juli juil juillet",
    "aug august augustus août aout",
    "sep sept september septembre",
    "oct october okt oktober octobre",
    "nov november novembre",
    "dec december dez dezember déc décembre decembre",
)
WEEKDAYS = (
    "mon monday mo montag ma maandag lun lundi",
    "tue tues tuesday di dienstag dinsdag mar mardi",
    "wed wednesday mi mittwoch wo woensdag mer mercredi",
    "thu thur thurs thursday do donnerstag donderdag jeu jeudi",
    "fri friday fr freitag vr vrijdag ven vendredi",
    "sat saturday sa samstag za zaterdag sam samedi",
    "sun sunday so sonntag zo zondag dim dimanche",
)
# Longest first: a pattern takes the first alternative that fits.
_MONTH = "|".join(sorted(" ".join(MONTHS).split(), key=lambda word: (-len(word), word)))
_WEEKDAY = "|".join(sorted(" ".join(WEEKDAYS).split(), key=lambda word: (-len(word), word)))
_CLOCK = (
    r"(?:(?:[t, ]+)(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d{1,9})?)?\s*(am|pm|a\.m\.|p\.m\.|uhr|uur|h)?)?"
)
_BEFORE = rf"^(?:({_WEEKDAY})[.,]*\s+)?"
_CLOCK_NAMES = "h n s p"
_NUMBERS = _BEFORE + r"(\d{1,2})([/.-])\s?(\d{1,2})([/.-])\s?(\d{4}|\d{2})" + _CLOCK + "$"
_NUMBER_NAMES = f"w a x b z c {_CLOCK_NAMES}"
_DAY_NAMED = (
    _BEFORE + rf"(\d{{1,2}})(?:st|nd|rd|th)?[ ./-]*(?:of )?({_MONTH})[ .,/-]*(\d{{4}}|\d{{2}})" + _CLOCK + "$"
)
_NAMED_DAY = _BEFORE + rf"({_MONTH})[ .-]*(\d{{1,2}})(?:st|nd|rd|th)?[ ,-]+(\d{{4}})" + _CLOCK + "$"
_FOUR_FIRST = r"^((?:19|20)\d{2})[/.-](\d{1,2})[/.-](\d{1,2})" + _CLOCK + "$"
_COMPACT = r"^((?:19|20)\d{2})(\d{2})(\d{2})(?:[t ]?(\d{2}):?(\d{2})(?::?(\d{2}))?)?$"

# The first day that spreadsheets number alike, since most of them have a 29 February 1900 that never was.
FIRST_SERIAL = 61
LAST_SERIAL = 73_050  # 31 December 2099
# A number that could be a year on its own is not taken for a day of 1905.
YEARS = (1900, 2100)


def _two(text: str) -> str:
    return f"lpad({text}, 2, '0')"


def _year(text: str) -> str:
    return f"case when length({text}) = 4 then {text} when {text} >= '69' then '19' || {text} else '20' || {text} end"


def _moment(year: str, month: str, day: str) -> str:
    """SQL for the moment of a match: parts of the day as given, parts of the clock from the groups h, n, s, p."""
    hour = "try_cast(m.h as integer)"
    half = (
        f"case when m.p in ('am', 'a.m.') and {hour} between 1 and 12 then {hour} % 12 "
        f"when m.p in ('pm', 'p.m.') and {hour} between 1 and 12 then {hour} % 12 + 12 "
        f"when m.p in ('', 'uhr', 'uur', 'h') then {hour} end"
    )
    clock = (
        f"case when m.h = '' then '00:00' else {_two(f'cast({half} as varchar)')} || ':' || m.n || "
        "case when m.s = '' then '' else ':' || m.s end end"
    )
    day_written = f"{year} || '-' || {_two(month)} || '-' || {_two(day)}"
    return f"case when {day} <> '' then try_cast({day_written} || ' ' || {clock} as timestamp) end"


def _number(word: str, words: tuple[str, ...]) -> str:
    """SQL for the number, as text, of a word for a month or a weekday."""
    whens = " ".join(
        f"when {word} in ({', '.join(repr(each) for each in names.split())}) then '{number}'"
        for number, names in enumerate(words, start=1)
    )
    return f"case {whens} end"


def _numbers(year: str, month: str, day: str) -> str:
    """Numbers parted by / . or -, the same sign twice."""
    body = f"case when m.x = m.z then {_moment(_year(f'm.{year}'), f'm.{month}', f'm.{day}')} end"
    return with_match("lower({c})", _NUMBERS, _NUMBER_NAMES, body)


ISO = f"case when regexp_full_match({{c}}, '{_ISO_MOMENT}') then try_cast({{c}} as timestamp) end"
DAY_FIRST = _numbers("c", "b", "a")
MONTH_FIRST = _numbers("c", "a", "b")
# The three numbers have two digits each, so the last group of the pattern is the day.
YEAR_FIRST = (
    "case when regexp_matches({c}, '(^|\\s)\\d{2}[/.-]\\s?\\d{1,2}[/.-]\\s?\\d{2}($|[^\\d])') then "
    + _numbers("a", "b", "c")
    + " end"
)
_NAMED_MOMENT = _moment(_year("m.y"), _number("m.k", MONTHS), "m.d")
NAMED = (
    "case when regexp_matches({c}, '\\p{L}{3}') then coalesce("
    + with_match("lower({c})", _DAY_NAMED, f"w d k y {_CLOCK_NAMES}", _NAMED_MOMENT)
    + ", "
    + with_match("lower({c})", _NAMED_DAY, f"w k d y {_CLOCK_NAMES}", _NAMED_MOMENT)
    + ") end"
)
# 20260304, 2026/3/4: with four digits the year stands first and nothing can be turned round.
COMPACT = (
    "coalesce("
    + with_match("lower({c})", _COMPACT, "y k d h n s", _moment("m.y", "m.k", "m.d").replace("m.p", "''"))
    + ", "
    + with_match("lower({c})", _FOUR_FIRST, f"y k d {_CLOCK_NAMES}", _moment("m.y", "m.k", "m.d"))
    + ")"
)
# The weekday that a cell names, 1 for Monday to 7; null where it names none.
WEEKDAY = with_match(
    "lower({c})", _BEFORE.removesuffix("?") + ".*[0-9]", "w", f"cast({_number('m.w', WEEKDAYS)} as integer)"
)


def _serial(base: str, first: int) -> str:
    days = "try_cast({c} as double)"
    return (
        r"case when regexp_full_match({c}, '\d{1,5}(\.\d{1,12})?') "
        f"and {days} >= {first} and {days} < {LAST_SERIAL + 1} "
        f"and not (regexp_full_match({{c}}, '\\d{{4}}') and {days} between {YEARS[0]} and {YEARS[1]}) "
        f"then timestamp '{base}' + to_seconds(cast(round({days} * 86400) as bigint)) end"
    )


SERIAL = _serial("1899-12-30", FIRST_SERIAL)
SERIAL_1904 = _serial("1904-01-01", 0)
# A spreadsheet that expects the other order turns every date it can read round, and leaves the others as text.
TURNED = (
    "case when regexp_matches({c}, '^" + _ISO_DAY + "($|[T ])') then "
    "try_cast(substr({c}, 1, 5) || substr({c}, 9, 2) || '-' || substr({c}, 6, 2) || substr({c}, 11) as timestamp) end"
)


def _together(*readers: str) -> str:
    return f"coalesce({', '.join(readers)})"


_MOMENTS = {
    "ISO 8601": ISO,
    "month names": _together(ISO, NAMED),
    "compact": _together(ISO, COMPACT, NAMED),
    "spreadsheet days": _together(ISO, SERIAL, COMPACT, NAMED),
    "spreadsheet days from 1904": _together(ISO, SERIAL_1904, COMPACT, NAMED),
    "day first": _together(ISO, DAY_FIRST, COMPACT, NAMED),
    "month first": _together(ISO, MONTH_FIRST, COMPACT, NAMED),
    "day first, other dates turned round": _together(TURNED, DAY_FIRST, COMPACT, NAMED),
    "month first, other dates turned round": _together(TURNED, MONTH_FIRST, COMPACT, NAMED),
    "year first": _together(ISO, YEAR_FIRST, COMPACT, NAMED),
}
MOMENT_FORMS = tuple(Form(name, "moment", read) for name, read in _MOMENTS.items())

# A month or a year stands for its first day, as a date stands for its first moment.
_MONTH_ALONE = with_match(
    "lower({c})",
    rf"^(?:(\d{{4}})-(\d{{2}})|(\d{{1,2}})[/.-](\d{{4}})|({_MONTH})[ .-]+(\d{{4}})|(\d{{4}}))$",
    "y k l z w v u",
    "try_cast(coalesce(nullif(m.y, ''), nullif(m.z, ''), nullif(m.v, ''), nullif(m.u, '')) || '-' || "
    + _two(f"coalesce(nullif(m.k, ''), nullif(m.l, ''), {_number('m.w', MONTHS)}, '1')")
    + " || '-01' as date)",
)
_ISO_DAY_READ = (
    f"case when regexp_full_match({{c}}, '{_ISO_MOMENT}') then try_cast(substr({{c}}, 1, 10) as date) "
    r"when regexp_full_match({c}, '\d{4}-\d{2}') then try_cast({c} || '-01' as date) "
    r"when regexp_full_match({c}, '\d{4}') then try_cast({c} || '-01-01' as date) end"
)
DAY_FORMS = (
    Form("ISO 8601, or a month or year", "day", _ISO_DAY_READ),
    *(
        Form(name, "day", f"coalesce({_MONTH_ALONE}, cast({read} as date))")
        for name, read in _MOMENTS.items()
        if name != "ISO 8601"
    ),
)
