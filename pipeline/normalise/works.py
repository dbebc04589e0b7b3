"""Several works in one row: cells taken apart, and which part, number, quantity and action belong together."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

MOST_WORKS = 99  # of a row; where more seem to stand, the cell is taken for running text and left whole
WORKED = frozenset(
    ("clean", "free", "clear blockage", "descale", "adjust", "reset", "reseat", "repair", "replace")
)
# Stands in a list where that work has nothing: "replace; test" beside "drain pump; -".
NOTHING = ("-", "\u2013", "\u2014")

_ITEMS = re.compile(r"[;\n\r]+")
_BETWEEN = re.compile(r"(\s*[+&]\s*|\s+and\s+|\s+/\s+|,(?!\d)\s*|(?<!\d),\s*)", re.IGNORECASE)
_STROKE = re.compile(r"(?<=[^\W\d]{3})/(?=[^\W\d]{3})")
_QUANTITIES = re.compile(r"\s*(?:[;\n\r+&/]|,\s|\band\b)\s*", re.IGNORECASE)
_QUANTITY = re.compile(
    r"""^(?:(?P<before>\d{1,2})\s*(?:x|×|off|pcs?|no\.)\s+|(?:x|×)\s*(?P<times>\d{1,2})\s+|(?P<a_pair>(?:a\s+)?pair\s+(?:of\s+)?))
    |(?:[\s,]+\(?(?:(?:x|×)\s*(?P<after>\d{1,2})|(?P<off>\d{1,2})\s*(?:x|×|off|pcs?))\)?|[\s,]+\(?(?P<pair>pair)\)?)$""",
    re.IGNORECASE | re.VERBOSE,
)
_ONLY_QUANTITY = re.compile(r"(?:x|×)?\s*(\d{1,4}(?:[.,]\d{1,3})?)\s*(?:x|×|off|pcs?)?", re.IGNORECASE)
# A cell of quantities that is more than one plain number: "2; 1", "2 off", "pair". For SQL.
_ONE = r"(-|–|—|pair|[x×]?\s*\d{1,4}([.,]\d{1,3})?\s*([x×]|off|pcs?)?)"
QUANTITIES = rf"(?i)\s*({_ONE}(\s*([;\n\r+&/]|,\s|\band\b)\s*{_ONE})+|pair|[x×]\s*\d{{1,4}}|\d{{1,4}}\s*([x×]|off|pcs?))\s*"
_DONE = re.compile(r"[^\W\d_]{2,}ed", re.IGNORECASE)
_PLAIN = re.compile(r"[\d.,]+")
_NUMBER = re.compile(r"(?=(?:.*\d){3})[\w./-]+")


@dataclass(frozen=True)
class Work:
    """One work of a row, as written; None where the row does not say."""

    part_no: str | None = None
    part_name: str | None = None
    action: str | None = None
    quantity: float | None = None


class Splitter:
    """
    Takes cells apart.

    Parameters
    ----------
    meaning : callable
        (column, phrase) to what a known phrase means, None for any other: a known phrase is never taken apart.
    split : sequence of str
        Columns whose cells may hold several works.
    """

    def __init__(self, meaning: Callable[[str, str], str | None], split: Sequence[str]) -> None:
        self.meaning, self.split = meaning, frozenset(split)

    def works(self, cells: Mapping[str, str | None]) -> list[Work]:
        """
        Works of one row, or none where it holds one work as it stands.

        Numbers and names of parts belong together in the order written where there are as many of both. Where there
        are not, nobody can tell which belongs to which: the numbers are kept, since they say more. A number beside
        several names is nobody's. A single action, name or quantity is that of every work. Of several actions in a list
        (with ";") each belongs to the part in its place; else, or where there are more or fewer than parts, the only
        one that is a work on a part is that of every part, and the others are works without one.
        """
        numbers, names = self._items("part_no", cells), self._items("part_name", cells)
        actions = [work.action for work in self._items("action", cells)]
        is_list = bool(_ITEMS.search(cells.get("action") or ""))
        if len(numbers) == 1 and len(names) <= 1 and numbers[0].part_name:
            names = names or [Work(part_name=numbers[0].part_name)]
        parts = self._parts(numbers, names)
        parts = self._with_quantities(parts, cells.get("quantity"))
        works = self._with_actions(parts, actions, is_list=is_list)
        return works if len(works) <= MOST_WORKS and not self._is_whole(works, cells) else []

    def phrases(self, column: str, cell: str) -> list[str]:
        """Phrases of a column that a cell is taken apart into."""
        return [text for work in self._items(column, {column: cell}) if (text := getattr(work, column))]

    def _is_whole(self, works: list[Work], cells: Mapping[str, str | None]) -> bool:
        """Whether a row holds one work, and that as it stands."""
        quantity = cells.get("quantity")
        if "quantity" in self.split and quantity and not _PLAIN.fullmatch(quantity):
            return not works
        whole = Work(cells.get("part_no"), cells.get("part_name"), cells.get("action"))
        return not works or [replace(work, quantity=None) for work in works] == [whole]

    def _items(self, column: str, cells: Mapping[str, str | None]) -> list[Work]:
        cell = cells.get(column)
        if not cell:
            return []
        if column not in self.split:
            return [{"part_no": Work(cell), "part_name": Work(None, cell)}.get(column, Work(action=cell))]
        return [self._item(column, text) for text in self._texts(column, cell)]

    def _texts(self, column: str, cell: str) -> list[str]:
        if self._is_known(column, cell):
            return [cell]
        found = []
        for item in _ITEMS.split(cell):
            found += self._between(column, item.strip()) if item.strip() else []
        return found

    def _between(self, column: str, text: str) -> list[str]:
        """An item at its signs and its "and"; a known phrase that holds one stays whole."""
        tokens = _BETWEEN.split(text)
        found, at = [], 0
        while at < len(tokens):
            ends = range(len(tokens), at, -2)
            end = next((e for e in ends if self._is_known(column, "".join(tokens[at:e]))), at + 1)
            found += self._strokes(column, "".join(tokens[at:end]).strip())
            at = end + 1
        return [each for each in found if each]

    def _strokes(self, column: str, text: str) -> list[str]:
        if column == "part_no" or self._is_known(column, text):
            return [text]
        return [each.strip() for each in _STROKE.split(text)]

    def _is_known(self, column: str, text: str) -> bool:
        return column != "part_no" and self.meaning(column, text) is not None

    def _item(self, column: str, text: str) -> Work:
        if text in NOTHING:
            return Work()
        if column == "action":
            return Work(action=text)
        rest, quantity = text, None
        if not self._is_known(column, text) and (found := _QUANTITY.search(text)):
            quantity = _quantity_of(found)
            rest = (text[: found.start()] + text[found.end() :]).strip(" ,()")
        if column == "part_no":
            number, name = self._number_and_name(rest)
            return Work(part_no=number, part_name=name, quantity=quantity)
        name, action = self._name_and_action(rest)
        return Work(part_name=name, action=action, quantity=quantity)

    def _number_and_name(self, text: str) -> tuple[str, str | None]:
        """A number with the name of its part beside it: "pump 123-456"."""
        words = text.split()
        numbers = [word for word in words if _NUMBER.fullmatch(word)]
        name = " ".join(word for word in words if word not in numbers)
        if len(numbers) == 1 and name and self.meaning("part_name", name) is not None:
            return numbers[0], name
        return text, None

    def _name_and_action(self, text: str) -> tuple[str, str | None]:
        """A name with what was done beside it: "filter cleaned"."""
        words = text.split()
        if len(words) > 1 and self.meaning("part_name", text) is None:
            for done, rest in ((words[-1], words[:-1]), (words[0], words[1:])):
                if _DONE.fullmatch(done) and self.meaning("action", done) is not None:
                    return " ".join(rest), done
        return text, None

    @staticmethod
    def _parts(numbers: list[Work], names: list[Work]) -> list[Work]:
        if len(numbers) > 1 and len(names) not in (1, len(numbers)):
            return numbers
        if len(numbers) == 1 and len(names) > 1:
            return names
        if len(names) == 1:
            names = names * max(1, len(numbers))
        return [
            Work(
                number.part_no,
                name.part_name or number.part_name,
                name.action,
                number.quantity if number.quantity is not None else name.quantity,
            )
            for number, name in zip_longest(numbers, names, fillvalue=Work())
        ]

    def _with_actions(self, parts: list[Work], actions: list[str | None], *, is_list: bool) -> list[Work]:
        done = [action for action in actions if action and self.meaning("action", action) in WORKED]
        if len(parts) == len(actions) > 1 and (is_list or len(done) != 1):
            return [
                replace(part, action=part.action or action)
                for part, action in zip(parts, actions, strict=True)
            ]
        if len(parts) <= 1:
            part = parts[0] if parts else Work()
            if part.action or not actions:
                return [part] if parts else []
            return [replace(part, action=action) for action in actions]
        if len(actions) <= 1:
            return [replace(part, action=part.action or next(iter(actions), None)) for part in parts]
        only = done[0] if len(done) == 1 else None
        others = [Work(action=action) for action in actions if action and action != only] if only else []
        return [replace(part, action=part.action or only) for part in parts] + others

    def _with_quantities(self, works: list[Work], cell: str | None) -> list[Work]:
        if not cell:
            return works
        texts = _QUANTITIES.split(cell) if "quantity" in self.split else [cell]
        found = [_quantity(text) for text in texts if text]
        works = works or [Work()]
        if len(found) == 1:
            found *= len(works)
        if len(found) != len(works):
            return works
        return [
            replace(work, quantity=quantity if work.quantity is None else work.quantity)
            for work, quantity in zip(works, found, strict=True)
        ]


def _quantity(text: str | None) -> float | None:
    """Number of a cell that holds nothing else."""
    if text and text.strip().casefold() == "pair":
        return 2.0
    found = _ONLY_QUANTITY.fullmatch(text.strip()) if text else None
    return float(found.group(1).replace(",", ".")) if found else None


def _quantity_of(found: re.Match[str]) -> float:
    said = next((each for each in found.group("before", "times", "after", "off") if each), None)
    return float(said) if said else 2.0
