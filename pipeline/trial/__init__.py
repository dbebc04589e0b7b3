"""A trial of cleaning against replacing, kept as plain text in the store: the next assignment, and when it is decided."""

from pipeline.trial.toss import toss

__all__ = ["toss"]
