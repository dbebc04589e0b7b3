"""Seeded mutations of the cells of a file before it is written: whatever stands in a cell, the file must be read."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from tests.fuzz import plain
from tests.fuzz.cases import Case
from tests.fuzz.samples import Cells, Sample

LONG = 40_000
TEXTS = (
    "", " ", "\t", "x" * LONG, "9" * 400, "-", "-1", "-20", "0", "00", "1e308", "1e-400", "nan", "NaN", "inf", "-Infinity",
    "null", "#N/A", "#REF!", "=1+1", '=HYPERLINK("x")', "@SUM(A1)", "+44", "0000-00-00", "0000-01-01", "0001-01-01",
    "9999-12-31", "9999-12-31T23:59:59.999999", "2024-02-30", "2024-13-01", "31.02.2024", "12/31/9999", "24:00", "25:61",
    "2024-03-04T25:00", "2024-03-31T02:30", "1.2.3", "1,2,3", "1.234.567,89", "12,5", "€ 5", "5 €", "$5", "£-3", "½", "٣٤",
    "１２", "二〇二四年三月四日", "Стиральная машина", "غسالة", "πλυντήριο", "🧺", "e\u0301", "\u202eabc", "\ufeff", "\u2028", "\u00a0",
    "\x01\x02", "\x1b[31m", "\x7f", "a\x00b", "a\nb", "a\rb", 'a"b', '"', '""', '"open', "a,b;c\td", "'", "\\", "{}", "[]",
    "<b>", "%s%n", "${x}", "'; drop table lines; --", "true", "yes", "Total", "unknown", "washer", "fixed", "a" * 200,
    " ".join(["word"] * 3000), "1:30", "1h30", "90 min", "1.5 h", "2024", "2024-03", "4 Mar 2024", "03/04/2024", "13/04/2024", "04.05.06", "1.234", "1,234", "1.30 h", "5 ex VAT", "J1 / J2", "x2", "a + b",
)  # fmt: skip
VALUES = (
    None, True, False, 0, -1, 2**53, 2**62, -0.0, 1e308, 1e-308, 0.1, float("nan"), float("inf"), float("-inf"),
    datetime(1, 1, 1), datetime(1900, 1, 1), datetime(9999, 12, 31, 23, 59, 59), date(1899, 12, 31), date(9999, 12, 31),
)  # fmt: skip
# Read one way or the other: in every cell of a column nobody can tell.
EITHER_WAY = ("03/04/2024", "1.234", "1.30", "04.05.06")


@dataclass
class Grid:
    """A file's cells while they are mutated, and which rows were touched."""

    header: list[Any]
    rows: list[Cells]
    can_be_ragged: bool
    has_values: bool
    touched: list[bool] = field(default_factory=list)
    is_header_touched: bool = False
    is_column_touched: bool = False

    def put(self, rng: random.Random, cell: Any) -> None:
        """Put something into a cell of some row."""
        row = rng.randrange(len(self.rows))
        if self.rows[row]:
            self.rows[row][rng.randrange(len(self.rows[row]))] = cell
            self.touched[row] = True


def put_text(rng: random.Random, grid: Grid) -> None:
    """Put a hostile text into a cell."""
    grid.put(rng, rng.choice(TEXTS))


def put_any_text(rng: random.Random, grid: Grid) -> None:
    """Put random letters of any alphabet into a cell."""
    letters = (
        chr(rng.choice((rng.randrange(1, 128), rng.randrange(160, 0xD800), rng.randrange(0xE000, 0x110000))))
        for _ in range(rng.randint(1, 30))
    )
    grid.put(rng, "".join(letters))


def put_value(rng: random.Random, grid: Grid) -> None:
    """Put a value of another type into a cell."""
    value = rng.choice(VALUES)
    grid.put(rng, value if grid.has_values else "" if value is None else str(value))


def empty(rng: random.Random, grid: Grid) -> None:
    """Empty a cell."""
    grid.put(rng, None if grid.has_values else "")


def swap(rng: random.Random, grid: Grid) -> None:
    """Swap a cell with its neighbour, or shift a whole row."""
    number = rng.randrange(len(grid.rows))
    row = grid.rows[number]
    if len(row) < 2:
        return
    at = rng.randrange(len(row) - 1)
    row[at], row[at + 1] = row[at + 1], row[at]
    if rng.random() < 0.3:
        row.insert(0, row.pop())
    grid.touched[number] = True


def repeat_row(rng: random.Random, grid: Grid) -> None:
    """Write rows again, beside themselves or elsewhere."""
    for _ in range(rng.randint(1, 3)):
        number, to = rng.randrange(len(grid.rows)), rng.randint(0, len(grid.rows))
        grid.rows.insert(to, copy.deepcopy(grid.rows[number]))
        grid.touched.insert(to, grid.touched[number])


def move_row(rng: random.Random, grid: Grid) -> None:
    """Put a row elsewhere."""
    number, to = rng.randrange(len(grid.rows)), rng.randrange(len(grid.rows))
    grid.rows.insert(to, grid.rows.pop(number))
    grid.touched.insert(to, grid.touched.pop(number))


def remove_rows(rng: random.Random, grid: Grid) -> None:
    """Take rows out, at times nearly all."""
    keep = rng.choice((1, 2, len(grid.rows) // 2, len(grid.rows) - 1)) or 1
    kept = sorted(rng.sample(range(len(grid.rows)), min(keep, len(grid.rows))))
    grid.rows = [grid.rows[n] for n in kept]
    grid.touched = [grid.touched[n] for n in kept]


def header_again(rng: random.Random, grid: Grid) -> None:
    """Write the header among the rows."""
    to = rng.randint(0, len(grid.rows))
    grid.rows.insert(to, list(grid.header))
    grid.touched.insert(to, True)


def blank_row(rng: random.Random, grid: Grid) -> None:
    """Write an empty row among the rows."""
    to = rng.randint(0, len(grid.rows))
    grid.rows.insert(to, [None if grid.has_values else ""] * len(grid.header))
    grid.touched.insert(to, True)


def ragged_row(rng: random.Random, grid: Grid) -> None:
    """Leave cells off a row, or add some."""
    if not grid.can_be_ragged:
        return
    number = rng.randrange(len(grid.rows))
    row = grid.rows[number]
    if rng.random() < 0.5:
        del row[rng.randrange(len(row) + 1) :]
    else:
        row += rng.choice((["", ""], ["more"], [""] * 500))
    grid.touched[number] = True


def column_either_way(rng: random.Random, grid: Grid) -> None:
    """Write every cell of a column so that it can be read in two ways, or leave every one empty."""
    at, cell = rng.randrange(len(grid.header)), rng.choice((*EITHER_WAY, ""))
    for row in grid.rows:
        if at < len(row):
            row[at] = cell
    grid.touched = [True] * len(grid.rows)
    grid.is_column_touched = True


def shuffle_columns(rng: random.Random, grid: Grid) -> None:
    """Put the columns in another order; no row is touched."""
    if any(len(row) != len(grid.header) for row in grid.rows):
        return
    order = list(range(len(grid.header)))
    rng.shuffle(order)
    grid.header = [grid.header[at] for at in order]
    grid.rows = [[row[at] for at in order] for row in grid.rows]


def change_header(rng: random.Random, grid: Grid) -> None:
    """Rename a header, duplicate it, empty it, or take its column out."""
    at = rng.randrange(len(grid.header))
    grid.is_header_touched = True
    match rng.randrange(5):
        case 0:
            grid.header[at] = grid.header[rng.randrange(len(grid.header))]
        case 1:
            grid.header[at] = rng.choice(TEXTS)
        case 2:
            grid.header[at] = rng.choice(
                ("When", "Datum", "Gerät", "reported at", "UNIT_TYPE", "Mr Ozvild Zubrathwick")
            )
        case 3:
            del grid.header[at]
            for row in grid.rows:
                del row[at : at + 1]
        case _:
            name = grid.header[at]
            grid.header.append(name)
            grid.rows = [[*row, rng.choice(("", "x", row[at] if at < len(row) else ""))] for row in grid.rows]


def lose_header(rng: random.Random, grid: Grid) -> None:
    """Leave the header out: the first row stands in its place."""
    grid.is_header_touched = True
    grid.header, *grid.rows = grid.rows
    del grid.touched[0]


def other_case(rng: random.Random, grid: Grid) -> None:
    """Write headers with other case and spaces around them, which says the same; no row is touched."""
    grid.header = [rng.choice((f" {name}", str(name).upper(), f"{name} ", name)) for name in grid.header]


Mutate = Callable[[random.Random, Grid], None]
MUTATIONS: tuple[Mutate, ...] = (
    put_text, put_text, put_text, put_text, put_any_text, put_value, put_value, empty, empty, swap, swap, repeat_row, move_row,
    remove_rows, header_again, blank_row, ragged_row, column_either_way, shuffle_columns, change_header, lose_header,
    other_case,
)  # fmt: skip


def mutated_cells(sample: Sample, rng: random.Random, seed: int) -> Case:
    """A sample with one to four mutations of its cells."""
    if sample.header == ("job",):
        return _mutated_jobs(sample, rng, seed)
    rows = [list(row) for row in sample.rows]
    has_values = sample.form in ("workbook", "parquet") or sample.name == "flat.jsonl"
    grid = Grid(
        list(sample.header), rows, sample.form in ("delimited", "packed"), has_values, [False] * len(rows)
    )
    chosen = [rng.choice(MUTATIONS) for _ in range(rng.choice((1, 1, 2, 4)))]
    for mutate in chosen:
        if len(grid.rows) > 1:
            mutate(rng, grid)
    return case_of_grid(
        sample, f"{sample.name} cells {seed}: {', '.join(each.__name__ for each in chosen)}", grid
    )


def case_of_grid(sample: Sample, what: str, grid: Grid) -> Case:
    """The case of a mutated grid."""
    kept = [touched for row, touched in zip(grid.rows, grid.touched, strict=True) if _is_row(sample, row)]
    touched = frozenset(number for number, is_touched in enumerate(kept, start=1) if is_touched)
    return Case(
        sample,
        what,
        sample.write(_names(sample, grid.header), grid.rows),
        None if grid.is_header_touched else len(kept),
        None if grid.is_header_touched else touched,
        grid.is_header_touched,
        grid.is_column_touched,
        may_be_refused=grid.is_header_touched,
    )


def _names(sample: Sample, header: Cells) -> Cells:
    """Headers as the kind of file can have them."""
    if sample.form in ("parquet", "json"):
        return ["" if name is None else str(name) for name in header]
    return header


def _is_row(sample: Sample, cells: Cells) -> bool:
    """Whether a row of cells is a record of the written file."""
    if sample.form == "workbook":
        return any(_is_filled(cell) for cell in cells)
    if sample.form in ("delimited", "packed"):
        return len(cells) > 1 or any(str(cell).strip() for cell in cells)
    return True


def _is_filled(cell: Any) -> bool:
    if isinstance(cell, float):
        return cell - cell == 0  # an error otherwise, which is an empty cell
    return cell is not None and bool(str(cell).strip())


def _mutated_jobs(sample: Sample, rng: random.Random, seed: int) -> Case:
    """Nested objects with some of their values or names mutated; whole jobs repeated, moved, left out."""
    jobs = [copy.deepcopy(row[0]) for row in sample.rows]
    touched = [False] * len(jobs)
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(jobs))
        if rng.random() < 0.2:
            to = rng.randint(0, len(jobs))
            jobs.insert(to, copy.deepcopy(jobs[at]))
            touched.insert(to, touched[at])
            continue
        _mutate_object(rng, jobs[at])
        touched[at] = True
    rows, numbers = 0, []
    for job, is_touched in zip(jobs, touched, strict=True):
        count = plain.rows_in(json.dumps(job))
        numbers += range(rows + 1, rows + count + 1) if is_touched else ()
        rows += count
    content = sample.write((), [[job] for job in jobs])
    return Case(
        sample, f"{sample.name} cells {seed}", content, rows, frozenset(numbers), may_be_refused=False
    )


def _mutate_object(rng: random.Random, value: dict[str, Any]) -> None:
    name = rng.choice(list(value))
    inner = value[name]
    if isinstance(inner, dict) and inner and rng.random() < 0.8:
        _mutate_object(rng, inner)
    elif isinstance(inner, list) and inner and isinstance(inner[0], dict) and rng.random() < 0.8:
        _mutate_object(rng, rng.choice(inner))
    else:
        match rng.randrange(4):
            case 0:
                del value[name]
            case 1:
                value[f"{name} too"] = value[name]
            case _:
                value[name] = rng.choice(
                    (
                        *TEXTS,
                        None,
                        True,
                        -1,
                        1e308,
                        float("nan"),
                        10**400,
                        [],
                        {},
                        [[]],
                        [1, "a"],
                        [{}],
                        [{"a": [{}]}],
                        [[{}]],
                    )
                )
