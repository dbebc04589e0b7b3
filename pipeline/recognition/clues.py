"""What speaks for each standard column, in one column of the file: its header, and what its cells look like."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.recognition import shapes
from pipeline.recognition.columns import Column
from pipeline.recognition.header_words import EXACT, scores, unit_of
from pipeline.recognition.known_words import WORD_COLUMNS, KnownWords
from pipeline.standard_log import LOG

KINDS = {column.name: column.kind for column in LOG}
YES_NO = tuple(name for name, kind in KINDS.items() if kind == "yes_no")
# Reasons for which nothing is made of a column; they compete with the standard columns.
LEFT_OUT = (
    "no:name",
    "no:telephone",
    "no:email",
    "no:street",
    "no:access",
    "no:paper",
    "no:tax",
    "no:row",
    "no:distance",
)
TARGETS = (*KINDS, *LEFT_OUT)
NEVER = -99.0
MOSTLY = 0.8
FEW = 60  # different words of a column that sorts: kinds, outcomes, people
LONG_TEXT = 4.0  # words a cell
MOST_HOURS = 10.0  # a median of numbers with two digits after the mark that may still be hours
LEAST_AMOUNT = 20.0  # in the median, of numbers with parts that are more likely amounts than hours
_AFTER_MARK = re.compile(r"-?\d+[.,]\d{1,2}")
LONGEST_STAY = 300.0  # minutes, in the median
MINUTES = (0.05, 600.0)  # a median outside is no length of a visit, in whatever unit
# Texts that are kept as they stand.
SHOWN = frozenset(("make", "model", "part_no", "check", "advised_not_done"))
UNITS_OF_TIME = frozenset(
    ("min", "mins", "minutes", "minuten", "minuut", "h", "hrs", "hours", "std", "stunden", "uur", "heures")
)
MOST_RETURN = 0.6  # share of rows that may go back to an earlier job
# Columns of a few fixed words: texts of which none is known are hardly theirs, whatever the header sounds like.
FIXED_WORDS = frozenset(
    (
        *("site_kind", "job_kind", "payer", "fitting", "check_result"),
        *("part_status", "part_source", "return_reason", "second_visit_reason"),
    )
)
SAID_OTHERWISE = 0.7
NAMES_AS_TEXT = -6.0
PERSONAL = frozenset(("no:name", "no:telephone", "no:email", "no:street", "no:access"))


@dataclass(frozen=True)
class Clue:
    """One reason for or against, and how much it weighs; in plain words where a person should hear it."""

    weight: float
    says: str = ""


Clues = dict[tuple[int, str], list[Clue]]


def weight(clues: Clues, position: int, target: str) -> float:
    """What speaks for a target in all, by the position of a column."""
    return sum(clue.weight for clue in clues.get((position, target), ()))


def own_clues(columns: Sequence[Column], words: KnownWords) -> Clues:
    """Clues of every column for every target, from the column alone."""
    found: Clues = defaultdict(list)
    for column in columns:
        heard = scores(column.header)
        if max(heard.values(), default=0.0) > 0.9 * EXACT:
            # What is said word for word leaves less to what only sounds like it.
            heard = {
                target: said if said > 0.9 * EXACT else SAID_OTHERWISE * said
                for target, said in heard.items()
            }
        for target in TARGETS:
            clues = found[column.position, target]
            if target in heard:
                how = "its header says so" if heard[target] > 0.9 * EXACT else "its header sounds like it"
                clues.append(Clue(heard[target], how))
            if column.filled:
                clues += _seen(column, target, words)
            elif heard.get(target, 0) < 0.9 * EXACT:
                clues.append(Clue(NEVER))
    return found


def _seen(column: Column, target: str, words: KnownWords) -> Iterator[Clue]:
    if target in LEFT_OUT:
        return _nothing_made(column, target, words)
    if target in WORD_COLUMNS:
        return _word(column, target, words)
    kind = KINDS[target]
    look = {
        "moment": _moment,
        "day": _day,
        "minutes": _minutes,
        "money": _money,
        "number": _number,
        "identity": _identity,
        "number_of_job": _number_of_job,
        "yes_no": _yes_no,
        "note": _note,
        "area": _area,
    }.get(kind, _text)
    return look(column, target, words)


def _moment(column: Column, _target: str, _words: KnownWords) -> Iterator[Clue]:
    if column.date < 0.6:
        yield Clue(NEVER)
    else:
        yield Clue(2.0, "it holds dates" + (" with times" if column.has_clock > 0.5 else ""))


def _day(column: Column, _target: str, _words: KnownWords) -> Iterator[Clue]:
    years = column.share(lambda text: text.isdecimal() and len(text) == 4 and "1960" <= text <= "2060")
    if column.date < 0.6 and years < MOSTLY:
        yield Clue(NEVER)
    else:
        yield Clue(1.0 if column.has_clock < 0.1 else -1.0, "it holds days")


def _minutes(column: Column, target: str, _words: KnownWords) -> Iterator[Clue]:
    readable = column.share(
        lambda text: shapes.length_of(text) is not None or shapes.number_of(text) is not None
    )
    if target == "check_min" and scores(column.header).get(target, 0.0) < 0.9 * EXACT:
        # Minutes are those of the visit unless the header says, word for word, that they are a check's.
        if not _is_timed_check(column.header):
            yield Clue(NEVER)
            return
        yield Clue(EXACT, "its header says so")
    low, high = MINUTES
    if (
        readable < 0.9
        or column.money_sign > 0.05
        or column.date > 0.5
        or _is_code(column)
        or _is_clock(column)
    ):
        yield Clue(NEVER)
    elif column.length > 0.3:
        yield Clue(3.5, "it holds lengths of time")
    elif not low <= column.middle <= high or (column.pence > 0.7 and column.middle > MOST_HOURS):
        yield Clue(-3.0)
    else:
        usual = column.middle >= 10 and column.distinct >= 8 and column.whole > 0.9
        yield Clue(2.4 if usual else 1.2 if column.middle >= 10 else 0.3, "its numbers can be minutes")
    if target == "travel_min":
        # Of two ways to take minutes the work is written down more often.
        yield Clue(-1.2)


def _has_parts(column: Column) -> bool:
    """Whether it holds numbers of which many have one or two digits after the mark, as programs write amounts without noughts."""
    parts = column.share(_AFTER_MARK.fullmatch)
    return parts > 0.3 and column.number > 0.9 and column.middle >= LEAST_AMOUNT


def _is_clock(column: Column) -> bool:
    """Whether it holds times of day: as lengths of visits most would be longer than anybody stays."""
    return column.time_of_day > 0.9 and float(np.nanmedian(column.lengths)) > LONGEST_STAY


def _is_timed_check(header: str) -> bool:
    """Whether a header is a check's, with a unit of time in brackets: "Check (min)"."""
    said = scores(header).get("check", 0.0)
    return said >= 0.9 * EXACT and unit_of(header).casefold().rstrip(".") in UNITS_OF_TIME


def _money(column: Column, target: str, _words: KnownWords) -> Iterator[Clue]:
    if column.number < 0.9 or column.date > 0.5 or (column.whole > 0.9 and _is_code(column)):
        yield Clue(NEVER)
    elif column.money_sign > 0.1 or column.pence > 0.5 or _has_parts(column):
        yield Clue(2.5, "it holds amounts")
    elif column.length > 0.3:
        yield Clue(-3.0)
    else:
        yield Clue(0.0 if column.middle >= 10 else -1.5, "its numbers can be amounts")
    if target != "charge":
        # An amount that stands alone is what was charged.
        yield Clue(-1.2)


def _number(column: Column, target: str, _words: KnownWords) -> Iterator[Clue]:
    readable = column.share(
        lambda text: shapes.number_of(text.lower().strip("x× ").removesuffix(" off")) is not None
    )
    if readable < 0.9 or column.pence > 0.5 or column.date > 0.5 or column.time_of_day > 0.5:
        yield Clue(NEVER)
    elif target == "quantity":
        counts = column.fits(shapes.COUNT) > MOSTLY
        small = column.distinct <= 30 and (counts or column.middle <= 2)
        yield Clue((3.0 if counts else 1.5) if small else -3.0, "it holds small numbers")
    else:
        yield Clue(0.0 if 0 < column.middle <= 40 else -4.0)
        yield Clue(-0.5)


def _identity(column: Column, target: str, words: KnownWords) -> Iterator[Clue]:
    if (
        column.date > 0.5
        or _has_parts(column)
        or column.pence > 0.5
        or column.money_sign > 0.1
        or column.length > 0.5
        or column.words > LONG_TEXT + 1
    ):
        yield Clue(NEVER)
        return
    if target == "technician":
        yield from _technician(column, words)
        return
    if column.is_measure:
        yield Clue(-1.5)
    if target == "site_id" and column.has_letters > MOSTLY and column.fits(shapes.POSTCODE) > MOSTLY:
        # A postcode has more addresses than one.
        yield Clue(-2.0)
    many = column.distinct >= min(20, 0.02 * column.rows)
    yield Clue(1.0 if many and column.code > MOSTLY else -2.0, "it holds many different numbers")
    if target == "serial":
        yield Clue(1.0 if column.longest >= 8 else -0.5, "they are long")
    if column.distinct < 3:
        yield Clue(-2.0)


def _technician(column: Column, words: KnownWords) -> Iterator[Clue]:
    if column.number > MOSTLY and column.whole < MOSTLY:
        yield Clue(NEVER)
        return
    if not 2 <= column.distinct <= FEW or column.longest > 30:
        yield Clue(-3.0)
        return
    if column.fits(shapes.COUNT) > MOSTLY:
        yield Clue(NEVER)
        return
    strange = column.share(lambda text: not words.is_trade(text))
    yield Clue(
        1.6 if strange > 0.95 and column.longest <= 20 else -2.0,
        "a few short names or signs come again and again",
    )
    if column.longest <= 3 and column.number < 0.5:
        yield Clue(0.8, "they look like initials")
    if column.fill < 0.6:
        yield Clue(-1.5)
    if column.whole > 0.9:
        yield Clue(-1.0)
    if words.yes_no(column) > MOSTLY:
        yield Clue(-3.0)


def _number_of_job(column: Column, target: str, _words: KnownWords) -> Iterator[Clue]:
    if column.date > 0.5 or column.pence > 0.5 or column.length > 0.5 or column.code < MOSTLY:
        yield Clue(NEVER)
    elif target == "visit_no":
        small = column.whole > 0.95 and column.distinct <= 15 and column.middle <= 3
        yield Clue(0.8 if small and column.fill > 0.9 else -4.0, "it counts 1, 2, 3")
    else:
        yield Clue(0.5 if column.distinct >= 3 else -2.0)
        if target == "return_of" and column.fill > MOST_RETURN:
            yield Clue(-3.0)


def _yes_no(column: Column, _target: str, words: KnownWords) -> Iterator[Clue]:
    said = words.yes_no(column)
    if said < MOSTLY or column.distinct > 6:
        yield Clue(NEVER)
    elif column.whole > 0.9:
        yield Clue(-1.5)
    else:
        # A header has to say what was asked: the answers alone do not.
        yield Clue(1.0, "it says yes or no")


def _note(column: Column, _target: str, _words: KnownWords) -> Iterator[Clue]:
    if column.date > 0.5 or column.number > 0.5:
        yield Clue(NEVER)
    elif column.words >= LONG_TEXT and column.distinct > 0.3 * column.filled:
        yield Clue(2.5, "it holds sentences, nearly each another")
    else:
        yield Clue(-1.0)


def _area(column: Column, _target: str, _words: KnownWords) -> Iterator[Clue]:
    if column.fits(shapes.POSTCODE) > MOSTLY and column.pence < 0.5:
        yield Clue(2.5, "it holds postcodes")
    else:
        # The first part alone may be any code.
        yield Clue(1.0 if column.fits(shapes.OUTWARD) > MOSTLY else NEVER, "it may hold postcodes")


def _text(column: Column, target: str, words: KnownWords) -> Iterator[Clue]:
    if target in SHOWN and names_people(column, words):
        # Names of people may never be kept as the names of something else.
        yield Clue(NAMES_AS_TEXT)
    if target == "currency":
        said = column.share(lambda text: text.casefold() in shapes.CURRENCIES)
        yield Clue(6.0 if said > 0.9 else NEVER, "it names currencies")
        return
    if column.date > 0.5 or (
        target != "reading" and (column.pence > 0.5 or column.money_sign > 0.1 or column.length > 0.5)
    ):
        yield Clue(NEVER)
        return
    match target:
        case "fault_code":
            fits = column.fits(shapes.FAULT)
            yield Clue(3.0 if fits > MOSTLY else -3.0 * (1 - fits), "its cells look like fault codes")
            yield Clue(0.5 if column.fill < 0.7 else -1.5)
        case "reading":
            fits = column.fits(shapes.READING)
            yield Clue(4.0 if fits > 0.6 else NEVER, "it holds readings with their units")
        case "part_no":
            yield Clue(0.8 if column.code > 0.6 and column.longest >= 4 else -2.0, "it holds codes")
            yield Clue(-1.5 if column.says.mean() > 0.97 else 0.4)
        case "make":
            few = 2 <= column.distinct <= 150 and column.has_digits < 0.3 and column.words <= 2.5
            yield Clue(
                1.3 if few and not _many_known(column, words) else -2.5, "a few names come again and again"
            )
        case "model":
            few = 2 <= column.distinct <= max(60, 0.4 * column.rows) and column.words <= 4
            yield Clue(
                1.0 if few and column.has_digits > 0.5 else -1.0, "type designations come again and again"
            )
        case _:  # advised_not_done and texts nobody can tell from their look
            yield Clue(0.0)


def _many_known(column: Column, words: KnownWords) -> bool:
    return column.share(words.is_trade) > 0.3


def _word(column: Column, target: str, words: KnownWords) -> Iterator[Clue]:
    if column.date > 0.5 or column.number > 0.6 or column.length > 0.5:
        yield Clue(NEVER)
        return
    if names_people(column, words):
        yield Clue(NAMES_AS_TEXT)
    rows, distinct = words.share(target, column)
    if target == "outcome":
        rows = max(rows, rows + words.paperwork(column))
        answers = words.answers_as_outcome(column)
        if answers:
            rows = column.share(lambda text: text in answers or words.knows(target, text))
    if rows >= 0.25:
        yield Clue(4.0 * min(rows, 1.0) + 1.2 * distinct, "its words are those of the trade for it")
    elif column.words >= 2 and target in ("symptom", "finding", "action"):
        told = words.told(target, column)
        yield Clue(3.0 * told if told > 0.2 else -1.0, "its texts tell of it")
    else:
        yield Clue(-2.0 if target in FIXED_WORDS or column.distinct > FEW else -1.0)
    if target not in ("symptom", "finding", "part_name", "action") and column.distinct > FEW:
        yield Clue(-1.5)


def _nothing_made(column: Column, target: str, words: KnownWords) -> Iterator[Clue]:
    if column.date > 0.5 and target in PERSONAL:
        # Days have as many digits as telephone numbers.
        yield Clue(NEVER)
        return
    match target:
        case "no:email":
            yield Clue(9.0 if column.fits(shapes.EMAIL) > 0.6 else -4.0, "it holds e-mail addresses")
        case "no:telephone":
            fits = column.fits(shapes.TELEPHONE)
            yield Clue(6.0 if fits > 0.7 and column.has_letters < 0.1 else -3.0, "it holds telephone numbers")
        case "no:street":
            fits = column.share(lambda text: shapes.STREET.match(text) and not words.is_trade(text))
            many = column.distinct > 10
            yield Clue(
                4.5 if fits > 0.7 and many and column.words >= 2 and column.date < 0.1 else -2.0,
                "it holds addresses",
            )
        case "no:name":
            yield Clue(4.5 if names_people(column, words) else -2.0, "it holds names of people")
        case "no:row":
            counts = column.whole > 0.99 and column.distinct == column.filled == column.rows
            first = column.texts[:1] in (["1"], ["0"])
            yield Clue(
                3.0 if counts and first and column.codes.size and _steps_of_one(column) else -3.0,
                "it counts the rows",
            )
        case "no:paper" if column.number > 0.9 and column.pence > 0.5:
            # Under the name of a paper stand its amounts.
            yield Clue(-4.0)
        case _:
            yield Clue(0.0)


def names_people(column: Column, words: KnownWords) -> bool:
    """Whether a column holds many different names of one or a few words without a word of the trade."""
    if not 0.9 <= column.words <= 4 or column.has_digits > 0.1:
        return False
    full = column.words >= 1.3
    most = 20 if full else FEW
    many = column.distinct > most or (column.distinct > 0.5 * column.filled and column.distinct >= 4)
    return many and column.share(lambda text: shapes.PERSON.match(text) and not words.is_trade(text)) > 0.85


def _steps_of_one(column: Column) -> bool:
    numbers = column.numbers
    return bool(((numbers[1:] - numbers[:-1]) == 1).all())


def _is_code(column: Column) -> bool:
    """Whole numbers that name things rather than measure them."""
    return column.whole > 0.9 and (column.longest >= 5 or column.fits(shapes.TELEPHONE) > 0.5)
