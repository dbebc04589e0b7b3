"""Columns that hold who somebody is although the layout reads them as words that are kept: refused before a row is written."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import phonenumbers
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.intake.layouts import Layout, comparable
from pipeline.intake.names import is_known
from pipeline.intake.scrub import scrub, scrubbed
from pipeline.intake.scrub_patterns import REMOVED
from pipeline.standard_log import LISTS, Column

# Columns of these kinds are kept as words; a number of a job is told apart cell by cell.
KEPT_AS_WORDS = ("word", "text")
# A column is judged by its distinct cells: fewer than these say nothing.
FEWEST, FEWEST_WORDS = 5, 20
MOST, MOST_WORDS = 0.5, 0.8
# Where names of firms, models and parts stand, most cells of more distinct ones are numbers that could be dialled by chance.
MOST_DIALLED = 0.8
_REGIONS = ("GB", "DE", "NL", "FR", "BE", "IE", "AT", "CH", "ES", "IT", "PL", "US", "DK", "SE", "NO")

_WHOSE = r"(?:customer|client|cust|tenant|landlord|owner|caller|contact|bill(?:ing)?|delivery|site|home|kunden?|klant(?:en)?|mieter|huurder|eigenaar)"
_PERSONAL = (
    r"e-?mail(?: address)?|mail|phone|tel(?:e(?:phone|fon|foon))?|mobile|handy|mobiel|gsm|fax|(?:full|first|last|family|given|sur|fore)[ _-]?name|"
    r"name|naam|nom|vorname|nachname|achternaam|voornaam|prénom|street|straße|strasse|straat|rue|address|adresse|anschrift|adres"
)
_ALONE = (
    r"customer|client|kunde|klant|tenant|mieter|huurder|contact(?: person)?|iban|bank account|card (?:no|number)|date of birth|dob|birthday|"
    r"key ?(?:safe|box)(?: code)?|(?:alarm|gate|door|entry|access) codes?|access(?: notes?)?"
)
_NUMBER = r"(?:[ _.-]*(?:no|nr|number|nummer|line|\d))*"
_HEADER = re.compile(
    rf"(?:{_WHOSE}['’]?s?[ _-]*(?:{_PERSONAL}){_NUMBER}|(?!(?:name|nom|naam)$)(?:{_PERSONAL}){_NUMBER}|{_ALONE})",
    re.IGNORECASE,
)


class MisplacedError(Exception):
    """A column that may not be kept: which one, and why."""


def refuse_headers(called: str, headers: Sequence[str], layout: Layout) -> None:
    """
    Refuse a layout that reads a column as words of the trade whose header says that it tells who somebody is.

    Raises
    ------
    CannotAnswerError
        With the column and the remedy.
    """
    kinds = {column.name: column.kind for column in LISTS[layout.kind]}
    for column, places in layout.positions(headers).items():
        for place in places:
            if kinds[column] in KEPT_AS_WORDS and _HEADER.fullmatch(comparable(headers[place]).strip(" .:")):
                raise CannotAnswerError(
                    f"{called}: column {place + 1} ({scrub(headers[place].strip())}) says by its header who somebody is, and the layout "
                    f"{layout.name} reads it as {column}, which is kept. {_remedy(layout)}"
                )


def refused(
    called: str, layout: Layout, positions: Mapping[str, tuple[int, ...]], error: MisplacedError
) -> CannotAnswerError:
    """The sentence for a column whose cells say who somebody is."""
    column, what = error.args
    where = f"column {positions[column][0] + 1}" if column in positions else "a column"
    return CannotAnswerError(
        f"{called}: {where}, which the layout {layout.name} reads as {column}, holds mostly {what}. {_remedy(layout)}"
    )


def _remedy(layout: Layout) -> str:
    another = "Read it as site_id, which is replaced, or leave it out of the layout; then load again."
    return another if layout.is_own else f"{another} (A layout of your own wins over {layout.name}.)"


def refuse_cells(column: Column, texts: pl.Series) -> None:
    """
    Refuse a block's cells of one column that mostly say who somebody is.

    Parameters
    ----------
    column : Column
        As which the layout reads them.
    texts : series of text
        Cells as written, in memory.

    Raises
    ------
    MisplacedError
        With the column's name and what its cells hold.
    """
    if column.kind not in KEPT_AS_WORDS:
        return
    filled = texts.drop_nulls()
    distinct = filled.unique()
    if len(distinct) < FEWEST:
        return
    if _share(filled, distinct, _nothing_left(distinct)) > MOST:
        # What names firms, models and parts may look like a telephone number or a name of two words by chance.
        if column.name not in _NAMES_OF_THINGS:
            raise MisplacedError(column.name, "names, numbers or addresses of people")
        if _share(filled, distinct, _dialled(distinct)) > MOST_DIALLED:
            raise MisplacedError(column.name, "telephone numbers")
        if _share(filled, distinct, scrubbed(distinct, "make").str.contains(REMOVED, literal=True)) > MOST:
            raise MisplacedError(column.name, "names or addresses of people")
    elif column.name not in _NAMES_OF_THINGS and _is_of_single_names(filled, distinct):
        raise MisplacedError(
            column.name, "single words with a capital that mean nothing in the trade, as names of people do"
        )


_NAMES_OF_THINGS = frozenset(
    (
        "make",
        "model",
        "part_no",
        "part_name",
        "fault_code",
        "currency",
        "replaced_by",
        "reference",
        "serial_from",
        "serial_to",
        "text",
        "place",
        "reading",
    )
)


def _share(filled: pl.Series, distinct: pl.Series, found: pl.Series) -> float:
    """Share of all cells, not of the distinct ones: a few cells in the wrong place are no reason to refuse a log."""
    return float(filled.is_in(distinct.filter(found).implode()).sum()) / len(filled)


def _nothing_left(distinct: pl.Series) -> pl.Series:
    """Whether hardly a sign of a cell is left once what looks like somebody is taken out."""
    left = scrubbed(distinct, "full").str.replace_all(REMOVED, "", literal=True)
    return (left != distinct) & ~left.str.contains(r"\w\w")


def _dialled(distinct: pl.Series) -> pl.Series:
    return pl.Series([_is_dialled(text) for text in distinct.to_list()], dtype=pl.Boolean)


def _is_dialled(text: str) -> bool:
    """Whether a whole cell is a telephone number of a country, written as people write one."""
    if not re.fullmatch(r"[+(\d][\d\s()./-]{7,20}", text) or not (
        text.startswith(("+", "0", "(")) or " " in text
    ):
        return False
    for region in _REGIONS:
        try:
            if phonenumbers.is_possible_number(phonenumbers.parse(text, region)):
                return True
        except phonenumbers.NumberParseException:
            continue
    return False


def _is_of_single_names(filled: pl.Series, distinct: pl.Series) -> bool:
    """Whether nearly every cell is one word with a capital that nobody knows, and hardly one is there twice."""
    if len(distinct) < FEWEST_WORDS or len(distinct) < MOST_WORDS * len(filled):
        return False
    single = distinct.filter(distinct.str.contains(r"^\p{Lu}[\p{L}'’-]{2,}$")).to_list()
    return sum(not is_known(word) for word in single) > MOST_WORDS * len(distinct)
