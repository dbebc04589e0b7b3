"""The columns of a sample: what stands in each, counted over its distinct cells."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cached_property
from statistics import median

import numpy as np
import numpy.typing as npt
import polars as pl

from pipeline.intake.block import Header
from pipeline.recognition import shapes
from pipeline.recognition.header_words import scores
from pipeline.recognition.sampling import Sample
from pipeline.standard_log import LOG

# Standard columns of dates.
DATED = frozenset(column.name for column in LOG if column.kind in ("moment", "day"))
SUNDAY = 1  # of the numbers that spreadsheets give to days, divided by seven
MOST_SUNDAYS = 0.06  # share of working days; of any numbers it is a seventh
FEWEST_WORKING_DAYS = 20
MOST_DISTINCT = 4_000  # cells whose shape is looked at; of more, the first so many say enough
Codes = npt.NDArray[np.int32]
Values = npt.NDArray[np.float64]


class Column:
    """
    One column.

    Parameters
    ----------
    position : int
        0-based, in the file.
    header : str
        Its name there, "" for none.
    cells : sequence of str
        Of all rows, trimmed; "" where nothing stands.
    """

    def __init__(self, position: int, header: str, cells: Sequence[str]) -> None:
        self.position, self.header, self.rows = position, header.strip(), len(cells)
        seen: dict[str, int] = {}
        self.codes: Codes = np.fromiter(
            (seen.setdefault(cell, len(seen)) if cell else -1 for cell in cells), np.int32, len(cells)
        )
        self.texts = list(seen)
        self.counts = np.bincount(self.codes[self.codes >= 0], minlength=len(seen)).tolist()

    @property
    def distinct(self) -> int:
        """How many different cells it has."""
        return len(self.texts)

    @cached_property
    def filled(self) -> int:
        """In how many rows something stands."""
        return int(sum(self.counts))

    @property
    def fill(self) -> float:
        """In what share of rows something stands."""
        return self.filled / self.rows if self.rows else 0.0

    @cached_property
    def says(self) -> npt.NDArray[np.bool_]:
        """Of each row whether something is said in it: no "-", no "n/a"."""
        silent = [n for n, text in enumerate(self.texts) if text.casefold() in shapes.NOTHING_KNOWN]
        return np.asarray((self.codes >= 0) & ~np.isin(self.codes, silent))

    @cached_property
    def known(self) -> tuple[list[str], list[int]]:
        """Distinct cells that say something, with their counts: no "-", no "n/a"."""
        said = [
            (text, count)
            for text, count in zip(self.texts[:MOST_DISTINCT], self.counts, strict=False)
            if text.casefold() not in shapes.NOTHING_KNOWN
        ]
        return [text for text, _ in said], [count for _, count in said]

    def share(self, holds: Callable[[str], object]) -> float:
        """In what share of the rows that say something a test holds of the cell."""
        texts, counts = self.known
        every = sum(counts)
        return sum(n for text, n in zip(texts, counts, strict=True) if holds(text)) / every if every else 0.0

    def fits(self, pattern: re.Pattern[str]) -> float:
        """In what share of the rows that say something a pattern fits the cell."""
        return self.share(pattern.match)

    @cached_property
    def as_days(self) -> list[shapes.Day | None]:
        """Distinct cells as dates."""
        return [shapes.day_of(text) for text in self.texts]

    @cached_property
    def date(self) -> float:
        """Share of dates."""
        days = dict(zip(self.texts, self.as_days, strict=True))
        return self.share(lambda text: days[text] is not None or self._is_serial(text))

    @cached_property
    def has_clock(self) -> float:
        """Share of dates with a time of day."""
        days = dict(zip(self.texts, self.as_days, strict=True))
        return self.share(lambda text: (day := days[text]) is not None and day.clock)

    @cached_property
    def _serial_days(self) -> bool:
        low, high = shapes.SERIALS
        numbers = [
            n for text in self.known[0] if (n := shapes.number_of(text)) is not None and "," not in text
        ]
        inside = sum(low <= n <= high for n in numbers)
        spread = (max(numbers) - min(numbers)) if numbers else 0
        all_days = len(numbers) >= 3 and inside == len(numbers) == len(self.known[0]) and 0 < spread < 6000
        return all_days and self._keeps_sundays(numbers)

    def _keeps_sundays(self, numbers: Sequence[float]) -> bool:
        """
        Whether numbers of days pass by one day of the week, as working days do; the numbers of jobs know no Sunday.

        A header that names a day, a part of a day or too few numbers speak for days as well; a nought in front against.
        """
        heard = scores(self.header)
        best = max(heard, key=lambda target: heard[target], default="")
        if any(text.startswith("0") for text in self.known[0]):
            return False
        if best in DATED or any(n % 1 for n in numbers) or (len(numbers) < FEWEST_WORKING_DAYS and not best):
            return True
        return not best and sum(n % 7 == SUNDAY for n in numbers) < MOST_SUNDAYS * len(numbers)

    def _is_serial(self, text: str) -> bool:
        return self._serial_days and shapes.number_of(text) is not None

    def days(self, *, month_first: bool) -> Values:
        """Of each row the day and part of it as a number; nan where there is none."""
        values = [
            day.ordinal(month_first=month_first)
            if day is not None
            else (shapes.serial_day(shapes.number_of(text) or 0) if self._serial_days else None)
            for text, day in zip(self.texts, self.as_days, strict=True)
        ]
        return self._by_row([np.nan if value is None else value for value in values])

    @cached_property
    def votes(self) -> tuple[int, int]:
        """Of its dates of numbers, how many can only be day first, and how many only month first."""
        numbered = [day for day in self.as_days if day is not None and not day.is_fixed]
        return sum(day.first > 12 for day in numbered), sum(day.second > 12 for day in numbered)

    @cached_property
    def time_of_day(self) -> float:
        """Share of times of day alone."""
        return self.share(lambda text: shapes.clock_of(text) is not None)

    @cached_property
    def numbers(self) -> Values:
        """Of each row the number or amount; nan where there is none."""
        return self._by_row([np.nan if (n := shapes.number_of(text)) is None else n for text in self.texts])

    @cached_property
    def lengths(self) -> Values:
        """Of each row the length of time in minutes, where the cell names its unit; nan where it does not."""
        return self._by_row([np.nan if (n := shapes.length_of(text)) is None else n for text in self.texts])

    def _by_row(self, values: Sequence[float]) -> Values:
        return np.append(np.asarray(values, dtype=float), np.nan)[self.codes]

    @cached_property
    def number(self) -> float:
        """Share of numbers and amounts."""
        return self.share(lambda text: shapes.number_of(text) is not None)

    @cached_property
    def whole(self) -> float:
        """Share of whole numbers without any sign."""
        return self.share(str.isdecimal)

    @property
    def is_measure(self) -> bool:
        """Whether it holds short whole numbers that may count or measure: many names of things are longer."""
        return self.whole > 0.9 and self.longest <= 3 and self.distinct > 9

    @cached_property
    def pence(self) -> float:
        """Share of numbers with two digits after the mark, or with the sign of a currency."""
        return self.share(lambda text: shapes.has_pence(text) or shapes.has_money_sign(text))

    @cached_property
    def money_sign(self) -> float:
        """Share of cells that name a currency."""
        return self.share(shapes.has_money_sign)

    @cached_property
    def length(self) -> float:
        """Share of lengths of time that name their unit."""
        return self.share(lambda text: shapes.length_of(text) is not None)

    @cached_property
    def middle(self) -> float:
        """Median of its numbers; nan without any."""
        numbers = self.numbers[~np.isnan(self.numbers)]
        return float(np.median(numbers)) if numbers.size else float("nan")

    @cached_property
    def longest(self) -> float:
        """Median number of signs of a distinct cell."""
        return median([len(text) for text in self.known[0]]) if self.known[0] else 0.0

    @cached_property
    def words(self) -> float:
        """Mean number of words of a distinct cell."""
        texts = self.known[0]
        return sum(len(text.split()) for text in texts) / len(texts) if texts else 0.0

    @cached_property
    def code(self) -> float:
        """Share of codes: digits, with letters or without, in few groups."""
        return self.fits(shapes.CODE)

    @cached_property
    def has_letters(self) -> float:
        """Share of cells with a letter."""
        return self.share(lambda text: any(sign.isalpha() for sign in text))

    @cached_property
    def has_digits(self) -> float:
        """Share of cells with a digit."""
        return self.share(lambda text: any(sign.isdigit() for sign in text))


def columns_of(sample: Sample) -> tuple[Column, ...]:
    """The columns of a sample, in the order of the file."""
    return columns_under(sample.header, sample.cells)


def columns_under(header: Header, cells: pl.DataFrame) -> tuple[Column, ...]:
    """The columns under a header, of cells in text columns named by position."""
    return tuple(
        Column(position, name, cells.get_column(str(position)).to_list())
        for position, name in enumerate(header.names)
    )


def month_first(columns: Sequence[Column]) -> bool:
    """Whether the dates of numbers of a file are more likely month first."""
    votes: Counter[bool] = Counter()
    for column in columns:
        if column.date > 0.5:
            day_only, month_only = column.votes
            votes[False] += day_only
            votes[True] += month_only
    return votes[True] > votes[False]
