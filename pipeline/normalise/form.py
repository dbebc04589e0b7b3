"""What a written form is, and small pieces of SQL that forms are made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Typed = Literal["moment", "day", "minutes", "number", "money"]


@dataclass(frozen=True)
class Form:
    """
    One way of writing.

    Attributes
    ----------
    name : str
        As it stands in normalise.forms and may be named in a layout.
    kind : str
        What is written: moment, day, minutes, number, money.
    read : str
        SQL with `{c}` for the trimmed cell. A moment gives the local, naive TIMESTAMP as written; a day a DATE;
        minutes and a number DOUBLE; money DECIMAL in major units. Null when it cannot be read.
    """

    name: str
    kind: Typed
    read: str

    def sql(self, cell: str) -> str:
        """SQL that reads a cell."""
        # Not str.format: the patterns have braces of their own.
        return self.read.replace("{c}", cell)


def either(name: str, *forms: Form) -> Form:
    """
    The form of a column that could be read in several ways: only what all of them read alike is read.

    Everything else is set aside until a person says which it is; a wrong day is worse than a missing one.
    """
    first, *others = (f"({form.read})" for form in forms)
    alike = " and ".join(f"{first} is not distinct from {other}" for other in others)
    return Form(name, forms[0].kind, f"case when {alike} then {first} end")


def with_match(text: str, pattern: str, names: str, body: str) -> str:
    """
    SQL that matches a text once and reads the groups of the match, `m.<name>`, in `body`.

    Groups that are not there are empty texts; where the pattern does not match, all are.
    """
    listed = ", ".join(f"'{name}'" for name in names.split())
    return f"list_transform([regexp_extract({text}, '{pattern}', [{listed}])], lambda m: {body})[1]"
