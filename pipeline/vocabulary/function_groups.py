"""Which parts do the same work, whatever their number, make and family: by name, the shop's own list first."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.vocabulary import FUNCTION_GROUP, normal_form, shops_own


@dataclass(frozen=True)
class FunctionGroups:
    """
    Groups of parts by what they do.

    Attributes
    ----------
    ambiguous : frozenset of str
        Names that may be one of several parts, in normal form: they make no group.
    own : mapping of str to str
        What the shop wrote, number or name in normal form, to its group.
    """

    ambiguous: frozenset[str]
    own: Mapping[str, str]

    def of_name(self, name: str) -> str | None:
        """Group of a part by its name, as the vocabulary reads it; None where the name may be several parts."""
        form = normal_form(name)
        return self.own.get(form) or (None if form in self.ambiguous else name)


def function_groups(folder: Path | None = None) -> FunctionGroups:
    """
    The starter file and the shop's own `function_group.toml`.

    Raises
    ------
    UnreadableError
        If the shop's file is not of the form of `function_group.toml`, or puts one number or name into two groups.
    """
    starter = _starter()
    own = shops_own(
        folder,
        FUNCTION_GROUP,
        _of,
        'It has ambiguous = ["pump", …] and, under [groups], lines such as "drain pump" = ["number or name", …].',
    )
    if own is None:
        return starter
    return FunctionGroups(starter.ambiguous | own.ambiguous, {**starter.own, **own.own})


@cache
def _starter() -> FunctionGroups:
    text = resources.files("pipeline.vocabulary").joinpath(f"{FUNCTION_GROUP}.toml").read_text("utf-8")
    return _of(tomllib.loads(text))


def _of(content: dict[str, Any]) -> FunctionGroups:
    ambiguous, groups = content.pop("ambiguous", []), content.pop("groups", {})
    is_right = isinstance(ambiguous, list) and isinstance(groups, dict)
    if content or not is_right or not all(isinstance(members, list) for members in groups.values()):
        raise TypeError("not a list of names and a table of groups")
    own: dict[str, str] = {}
    for group, members in groups.items():
        for form in map(normal_form, (group, *map(str, members))):
            if own.setdefault(form, group) != group:
                raise TypeError(f'"{form}" stands in two groups, "{own[form]}" and "{group}"')
    return FunctionGroups(frozenset(normal_form(str(name)) for name in ambiguous), own)
