"""Small wordings that the answers about stock share."""

from __future__ import annotations


def counted(count: int, one: str, many: str) -> str:
    """A count with its noun."""
    return f"{count:,} {one if count == 1 else many}"
