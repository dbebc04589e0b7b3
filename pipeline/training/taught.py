"""What was taught and when, so that a later look can say whether it took."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from pipeline.store.folder import Store
from pipeline.training.rows_file import read_rows, write_rows

FILE = "taught.csv"
COLUMNS = ("taught_on", "unit_type", "part_no", "part_name", "action")


@dataclass(frozen=True)
class Taught:
    """One procedure, and the day (ISO) from which everybody knew the better way."""

    taught_on: str
    unit_type: str
    part_no: str
    part_name: str
    action: str

    @property
    def day(self) -> date:
        """The day."""
        return date.fromisoformat(self.taught_on)

    @property
    def key(self) -> dict[str, str | None]:
        """The procedure as figures name it."""
        return {
            "unit_type": self.unit_type,
            "part_no": self.part_no or None,
            "part_name": self.part_name or None,
            "action": self.action,
        }


def read_taught(store: Path) -> tuple[Taught, ...]:
    """Everything taught, in the order it was written down."""
    return tuple(Taught(**row) for row in read_rows(store / FILE, COLUMNS))


def add_taught(store: Path, taught: Taught) -> None:
    """Write it down, once."""
    known = read_taught(store)
    if taught not in known:
        write_rows(Store(store), store / FILE, COLUMNS, [asdict(one) for one in (*known, taught)])
