"""The visits of a log with their lines, as an office would copy them: a line that stands twice is copied once."""

from __future__ import annotations

from dataclasses import dataclass

from sample_logs.jobs import Row

WORKED = frozenset({"clean", "free", "adjust", "repair", "reset", "replace"})


@dataclass(frozen=True)
class Line:
    """One line of work, with its place in the log."""

    number: int
    row: Row

    @property
    def is_worked_part(self) -> bool:
        """Whether a part was worked on and is in the machine."""
        there = self.row["part_status"] in {"", "fitted"}
        return bool(self.row["part_no"]) and self.row["action"] in WORKED and there


@dataclass(frozen=True)
class AtVisit:
    """One visit: what is the same on all its lines, and the lines."""

    fields: Row
    lines: tuple[Line, ...]

    @property
    def numbers(self) -> frozenset[int]:
        """Places of its lines in the log."""
        return frozenset(line.number for line in self.lines)

    @property
    def worked(self) -> tuple[Line, ...]:
        """Lines of parts worked on."""
        return tuple(line for line in self.lines if line.is_worked_part)

    @property
    def told(self) -> tuple[Line, ...]:
        """Lines that somebody tells who has little room: works on parts, else the one that says most."""
        by_weight = sorted(self.lines, key=lambda line: (not line.row["finding"], not line.row["action"]))
        return self.worked or (by_weight[0],)

    def first(self, column: str) -> str:
        """First value that a line has in a column, "" where none has."""
        return next((line.row[column] for line in self.lines if line.row[column]), "")


def visits_of(rows: list[Row]) -> list[AtVisit]:
    """Visits of a log in its order."""
    found: dict[tuple[str, str], dict[tuple[str, ...], Line]] = {}
    for number, row in enumerate(rows):
        lines = found.setdefault((row["job_id"], row["visit_no"]), {})
        lines.setdefault(tuple(row.values()), Line(number, row))
    return [AtVisit(next(iter(lines.values())).row, tuple(lines.values())) for lines in found.values()]
