"""Commands that take files in: demo, load, recognise, reread."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path
from typing import Any

from pipeline.cli.pages import take_over
from pipeline.cli.speaking import add_command, progress_line, same_place, say, source_of
from pipeline.errors import WrongUseError


def add_demo(commands: Any) -> None:
    """Options of `demo`."""
    parser = add_command(
        commands,
        "demo",
        _demo,
        "load the invented sample firm, print the three headline figures, show the dashboard",
    )
    parser.add_argument("--no-dashboard", action="store_true", help="end after printing")
    parser.add_argument("--port", type=int, default=8501)


def add_load(commands: Any) -> None:
    """Options of `load`."""
    parser = add_command(commands, "load", _load, "take one or more log files in")
    parser.add_argument(
        "files",
        nargs="*",
        type=Path,
        metavar="FILE",
        help="CSV, JSON, Parquet or a workbook; many at once if you like; - is standard input",
    )
    parser.add_argument("--called", metavar="NAME", help="what to call a file that comes by standard input")
    parser.add_argument("--layout", metavar="NAME", help="read the files by this layout")
    for kind, says in (
        ("machines", "the machines under care"),
        ("parts", "the parts list"),
        ("stock", "what lies on van and shelf"),
        ("notices", "recalls and safety notices the firm keeps"),
    ):
        parser.add_argument(f"--{kind}", type=Path, metavar="FILE", help=f"a list: {says}")


def add_recognise(commands: Any) -> None:
    """Options of `recognise`."""
    parser = add_command(
        commands,
        "recognise",
        _recognise,
        "look at a new file: say what each column is, show five rows as they would be read, and write a layout to load it by",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="a log as your program writes it")
    parser.add_argument(
        "--output", type=Path, metavar="LAYOUT.toml", help="write the layout there instead of into the store"
    )


def add_reread(commands: Any) -> None:
    """Options of `reread`."""
    reread = add_command(commands, "reread", _reread, "build everything again from what was received")
    reread.add_argument(
        "--engine",
        choices=("duckdb", "spark"),
        default="duckdb",
        help="what makes jobs, visits and facts; spark needs Java and mendstat[spark]",
    )


def _demo(options: argparse.Namespace) -> None:
    from pipeline.demo import demo_text, load_demo

    load_demo(options.store, options.key, say)
    print(demo_text(options.store))
    if not options.no_dashboard and sys.stdout.isatty():
        take_over(options)


def _load(options: argparse.Namespace) -> None:
    from pipeline.load import load

    lists = {kind: getattr(options, kind) for kind in ("machines", "parts", "stock", "notices")}
    if not options.files and not any(lists.values()):
        raise WrongUseError(
            "load needs at least one file: mendstat load FILE … [--machines F] [--parts F] [--stock F] [--notices F]."
        )
    report = load(
        options.store,
        [source_of(path, options.called) for path in options.files],
        layout=options.layout,
        **lists,
        key_path=options.key,
        progress=progress_line(),
    )
    print(report.text())
    if report.was_built:
        place = same_place(options)
        print(
            f"What became of each row: mendstat log-check --format table{place}. The pages: mendstat dashboard{place}"
        )


def _recognise(options: argparse.Namespace) -> int:
    from pipeline.recognition.recognising import recognise, write_layout
    from pipeline.recognition.telling import answer_in, told

    found = recognise(source_of(options.file, None), options.store)
    print(told(found))
    load = f"mendstat load {shlex.quote(str(options.file))}{same_place(options)}"
    if found.is_known:
        print(f"\nLoad it with: {load}")
        return 0
    path = write_layout(found, options.store, options.output)
    print(answer_in(found, path, load))
    return int(bool(found.questions))


def _reread(options: argparse.Namespace) -> None:
    from pipeline.load import reread

    reread(options.store, engine_name=options.engine, progress=progress_line())
    say("Everything was built again from what was received.")
