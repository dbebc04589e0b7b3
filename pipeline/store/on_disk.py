"""How much of the disk a store takes: what only a back-up brings back, and what can be made again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pipeline.store.folder import Store

_UNITS = ("bytes", "kB", "MB", "GB", "TB")


@dataclass(frozen=True)
class OnDisk:
    """
    Bytes of a store on the disk.

    Attributes
    ----------
    kept : int
        Of what cannot be made from anything else: received, corrections, and what the shop wrote itself.
    built : int
        Of builds, all of them.
    """

    kept: int
    built: int

    def text(self) -> str:
        """One sentence for the user."""
        return (
            f"On the disk: {size(self.kept)} received and written by you (back this up, with the key), "
            f"{size(self.built)} worked out from it (can be made again with mendstat reread)."
        )


def on_disk(store: Store) -> OnDisk:
    """Bytes that a store takes at this moment; what vanishes meanwhile counts nothing."""
    built = kept = 0
    for path in store.folder.rglob("*"):
        name = path.relative_to(store.folder).parts[0]
        if name.startswith("fleet-"):
            built += _bytes(path)
        else:
            kept += _bytes(path)
    return OnDisk(kept, built)


def _bytes(path: Path) -> int:
    try:
        return path.stat().st_size if path.is_file() else 0
    except FileNotFoundError:
        return 0


def size(count: int) -> str:
    """
    A count of bytes in words: three figures are enough.

    >>> size(980), size(12_345_678), size(2_500_000_000)
    ('980 bytes', '12.3 MB', '2.5 GB')
    """
    step, number = 0, float(count)
    while number >= 1000 and step < len(_UNITS) - 1:
        step, number = step + 1, number / 1000
    return f"{number:.3g} {_UNITS[step]}"
