"""The command `measure`, and the drawing of its answer."""

from __future__ import annotations

import argparse
import importlib.util
import subprocess
import sys
from pathlib import Path
from typing import Any

from pipeline.cli.speaking import add_command, add_printing, say, show
from pipeline.errors import WrongUseError


def add_measure(commands: Any) -> None:
    """Options of `measure`."""
    from pipeline.measures import MEASURES
    from pipeline.measures.question import BASES, CLOCKS, KINDS

    parser = add_command(commands, "measure", _measure, "work out one figure: " + ", ".join(MEASURES))
    parser.add_argument("name", choices=tuple(MEASURES), metavar="NAME")
    parser.add_argument(
        "--by", default="", metavar="A,B", help="column names of the standard log, age_band, month"
    )
    parser.add_argument(
        "--from", dest="from_at", metavar="D", help="ISO date or date-time the window starts at"
    )
    parser.add_argument("--complete-to", metavar="D", help="ISO date or date-time the window ends before")
    parser.add_argument(
        "--days", type=int, default=30, metavar="N", help="follow-up for repeat visits (default 30)"
    )
    parser.add_argument("--kind", choices=KINDS, default="any", help="which repeat visits count")
    parser.add_argument("--clock", choices=CLOCKS, default="hands-on", help="which time to fix")
    parser.add_argument(
        "--basis", choices=BASES, help="which machines a rate is over (default: the best the store allows)"
    )
    parser.add_argument("--people", action="store_true", help="allow figures by technician")
    parser.add_argument(
        "--working",
        action="store_true",
        help="say on standard error how it was worked out: definition, window, rows, queries, fingerprint",
    )
    parser.add_argument(
        "--chart", type=Path, metavar="FILE", help="draw it too, into FILE.svg or FILE.png (extra `charts`)"
    )
    add_printing(parser)


def _measure(options: argparse.Namespace) -> int:
    from pipeline.measures import MEASURES, Question, evaluate_with_working, moment_of
    from pipeline.store.folder import Store

    question = Question(
        by=tuple(name.strip() for name in options.by.split(",") if name.strip()),
        from_at=moment_of(options.from_at, "--from") if options.from_at else None,
        complete_to=moment_of(options.complete_to, "--complete-to") if options.complete_to else None,
        days=options.days,
        kind=options.kind,
        clock=options.clock,
        basis=options.basis,
        people=options.people,
    )
    if options.chart is not None:
        _check_chart(options.chart)
    with Store(options.store).connect() as con:
        result, working = evaluate_with_working(con, options.name, question)
        drawn = None if options.chart is None else _to_draw(con, options.name, question, result)
    if not result.height:
        say(MEASURES[options.name].when_none)
    show(result, options)
    if options.working:
        say(working.text())
    return 0 if drawn is None else _draw(drawn, options.chart)


def _check_chart(path: Path) -> None:
    if path.suffix.lower() not in (".svg", ".png"):
        raise WrongUseError(f"--chart takes a file that ends in .svg or .png, but was {path}.")
    if importlib.util.find_spec("vl_convert") is None:
        raise WrongUseError("Charts as files need one more package: pip install 'mendstat[charts]'.")


def _to_draw(con: Any, name: str, question: Any, result: Any) -> bytes:
    """The answer as the drawing program takes it: what the figure is, its rows, its line where it has one."""
    from pipeline.measures import MEASURES, evaluate_line
    from pipeline.measures.words import headline_words
    from pipeline.show import json_bytes

    measure = MEASURES[name]
    if not result.height or measure.name == "safety-reports":
        raise WrongUseError(f"{name} is listed, not drawn; leave --chart out.")
    answer = {
        "name": name,
        "label": measure.label,
        "says": headline_words(name, result) or measure.question,
        "groups": result.columns[: result.columns.index("value")],
        "rows": result.to_dicts(),
    }
    if measure.line is not None:
        line = evaluate_line(con, name, question)
        answer["line"] = {"groups": line.groups, "x_unit": line.x_unit, "rows": line.frame.to_dicts()}
    return json_bytes([answer])


def _draw(answer: bytes, path: Path) -> int:
    # Charts stand on top of the pipeline, which never imports them: another program draws what it is told.
    sys.stdout.flush()
    command = [sys.executable, "-m", "dashboards.draw", str(path)]
    return subprocess.run(command, input=answer, check=False).returncode  # noqa: S603 -- our own module
