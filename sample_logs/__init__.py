"""A made-up repair firm with known truth, and the generator that wrote it."""

from __future__ import annotations

from pathlib import Path

STANDARD = Path(__file__).parent / "standard"
KINDS = ("log", "machines", "parts", "stock", "notices")


def standard_files() -> dict[str, Path]:
    """Paths of the five committed files, by kind of file: log, machines, parts, stock, notices."""
    return {kind: STANDARD / f"{kind}.csv" for kind in KINDS}
