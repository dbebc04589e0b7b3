"""What every command shares: the store and key options, and how an answer is printed or written."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from pipeline.errors import WrongUseError

STANDARD_INPUT = Path("-")
DEFAULT_STORE = Path("mendstat-store")


def add_command(
    commands: Any, name: str, run: Callable[[argparse.Namespace], int | None], says: str
) -> argparse.ArgumentParser:
    """A command with the options that all have: the store and the key."""
    parser: argparse.ArgumentParser = commands.add_parser(
        name, help=says, description=says[0].upper() + says[1:] + "."
    )
    parser.add_argument(
        "--store",
        type=Path,
        default=DEFAULT_STORE,
        metavar="FOLDER",
        help=f"the store (default {DEFAULT_STORE})",
    )
    parser.add_argument(
        "--key", type=Path, metavar="FILE", help="the key file (default: in your configuration folder)"
    )
    parser.set_defaults(run=run)
    return parser


def same_place(options: argparse.Namespace) -> str:
    """Options that a next command needs to mean the same store and key; empty where they are the usual ones."""
    store = f" --store {shlex.quote(str(options.store))}" if options.store != DEFAULT_STORE else ""
    return store + (f" --key {shlex.quote(str(options.key))}" if options.key else "")


def add_printing(parser: argparse.ArgumentParser, default: str = "table") -> None:
    """How an answer is shown: `--format` and `--output`."""
    parser.add_argument(
        "--format", choices=("table", "csv", "json", "parquet"), default=default, help=f"default {default}"
    )
    parser.add_argument("--output", type=Path, metavar="FILE", help="write there instead of printing")


def add_sheet_command(
    commands: Any, name: str, run: Callable[[argparse.Namespace], int | None], says: str
) -> None:
    """A command that writes one page, by default under its own name."""
    parser = add_command(commands, name, run, says)
    parser.add_argument(
        "--output", type=Path, metavar="F.html", help=f"where to write it (default {name}.html)"
    )


def source_of(path: Path, called: str | None) -> Any:
    """A file by its path; "-" is standard input, which is kept in memory only."""
    from pipeline.intake.source import Source

    if path != STANDARD_INPUT:
        return Source(path)
    return Source(Path(called or "standard input"), sys.stdin.buffer.read())


def show_rows(rows: list[dict[str, Any]], options: argparse.Namespace) -> None:
    """Print or write rows; as JSON each keeps its own names."""
    import polars as pl

    from pipeline.show import json_bytes

    if options.format == "json":
        print_or_write(json_bytes(rows), options.output)
    else:
        show(pl.DataFrame(rows, infer_schema_length=None), options)


def show(result: Any, options: argparse.Namespace, notes: Sequence[str] = ()) -> None:
    """Print or write a result; sentences about it stand below a table, and nowhere else."""
    from pipeline.show import render

    how = options.format
    if how == "parquet" and options.output is None:
        raise WrongUseError("Parquet is not for a screen: name a file with --output.")
    if how == "table" and options.output is not None and options.output.suffix.casefold() == ".xlsx":
        how = "xlsx"
    below = "".join(f"{note}\n" for note in notes) if how == "table" else ""
    print_or_write(render(result, how) + (f"\n{below}" if below else "").encode(), options.output)


def print_or_write(content: bytes, output: Path | None) -> None:
    """To a file, whole or not at all, or to the screen."""
    from pipeline.show import write

    if output is None:
        sys.stdout.write(content.decode())
        sys.stdout.flush()
    else:
        write(content, output)


def names(text: str) -> list[str]:
    """Names with commas between."""
    return [name.strip() for name in text.split(",") if name.strip()]


def say(text: str) -> None:
    """A sentence beside the answer: on standard error."""
    print(text, file=sys.stderr)


def silent(_text: str) -> None:
    """Progress where nobody watches."""


def progress_line() -> Callable[[str], None] | None:
    """A line that rewrites itself on standard error, on a terminal only."""
    if not sys.stderr.isatty():
        return None
    return lambda text: print(f"\r\033[K{text}", end="", file=sys.stderr, flush=True)
