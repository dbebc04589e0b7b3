"""Everything that ends a command early, with its exit code."""

from __future__ import annotations


class MendstatError(Exception):
    """A sentence for the user: what happened, where, and the remedy."""

    exit_code = 3


class CannotAnswerError(MendstatError):
    """The data cannot answer that, or a question must be settled first."""

    exit_code = 1


class WrongUseError(MendstatError):
    """The command was used wrongly."""

    exit_code = 2


class UnreadableError(MendstatError):
    """An input file or the store could not be read."""

    exit_code = 3
