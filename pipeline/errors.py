"""Everything that ends a command early, with its exit code."""

from __future__ import annotations


def shown(text: str) -> str:
    """Text as it may be shown: what a terminal would obey instead of show is a space; line ends stay."""
    return "".join(sign if sign.isprintable() or sign == "\n" else " " for sign in text)


class MendstatError(Exception):
    """A sentence for the user: what happened, where, and the remedy. What it quotes of a file cannot steer a terminal."""

    exit_code = 3

    def __str__(self) -> str:
        return shown(super().__str__())


class CannotAnswerError(MendstatError):
    """The data cannot answer that, or a question must be settled first."""

    exit_code = 1


class WrongUseError(MendstatError):
    """The command was used wrongly."""

    exit_code = 2


class UnreadableError(MendstatError):
    """An input file or the store could not be read."""

    exit_code = 3
