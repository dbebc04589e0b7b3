"""The command line: parse, call, print. Nothing is worked out here."""

from __future__ import annotations

import argparse
import importlib.util
import io
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from pipeline.errors import MendstatError, WrongUseError

STANDARD_INPUT = Path("-")
DEFAULT_STORE = Path("mendstat-store")


def main(arguments: Sequence[str] | None = None) -> int:
    """
    Run one command.

    Returns
    -------
    int
        0 done; 1 the data cannot answer that or a question must be settled first; 2 wrong use; 3 an input or the
        store could not be read.
    """
    _speak_utf8()
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options) or 0)
    except MendstatError as error:
        print(f"mendstat: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader (say, `head`) has seen enough; leave quietly and keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130


def _speak_utf8() -> None:
    """Print UTF-8 wherever we are: a locale that knows ASCII only must not change or stop what is printed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="mendstat",
        description="Works out, from a repair firm's own job records, which faults and fixes pay off. Everything stays on this machine.",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    _add_demo(commands)
    _add_load(commands)
    _add_recognise(commands)
    _add(commands, "reread", _reread, "build everything again from what was received")
    _add_log_check(commands)
    _add_settle(commands)
    _add_mend(commands)
    _add_measure(commands)
    _add_van_stock(commands)
    _add_stores(commands)
    _add_export(commands)
    _add_job_sheet(commands)
    _add_key(commands)
    _add_forget(commands)
    _add_symptom(commands)
    _add_toss(commands)
    _add_month(commands)
    _add_pocket_sheet(commands)
    _add_dashboard(commands)
    return parser


def _add(
    commands: Any, name: str, run: Callable[[argparse.Namespace], int | None], says: str
) -> argparse.ArgumentParser:
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


def _printing(parser: argparse.ArgumentParser, default: str = "table") -> None:
    parser.add_argument(
        "--format", choices=("table", "csv", "json", "parquet"), default=default, help=f"default {default}"
    )
    parser.add_argument("--output", type=Path, metavar="FILE", help="write there instead of printing")


def _add_demo(commands: Any) -> None:
    parser = _add(
        commands,
        "demo",
        _demo,
        "load the invented sample firm, print the three headline figures, show the dashboard",
    )
    parser.add_argument("--no-dashboard", action="store_true", help="end after printing")
    parser.add_argument("--port", type=int, default=8501)


def _add_load(commands: Any) -> None:
    parser = _add(commands, "load", _load, "take one or more log files in")
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


def _add_recognise(commands: Any) -> None:
    parser = _add(
        commands,
        "recognise",
        _recognise,
        "look at a new file: say what each column is, show five rows as they would be read, and write a layout to load it by",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="a log as your program writes it")
    parser.add_argument(
        "--output", type=Path, metavar="LAYOUT.toml", help="write the layout there instead of into the store"
    )


def _add_log_check(commands: Any) -> None:
    parser = _add(commands, "log-check", _log_check, "account for every row of every file taken in")
    parser.add_argument(
        "--privacy",
        action="store_true",
        help="instead, what somebody who knows a little could single out in this store",
    )
    _printing(parser, default="json")


def _add_export(commands: Any) -> None:
    parser = _add(commands, "export", _export, "write the log as it was read, for the firm's own use")
    parser.add_argument(
        "--share",
        action="store_true",
        help="instead, counts that may leave the firm: cells of ten jobs or more, by month",
    )
    _printing(parser)


def _add_mend(commands: Any) -> None:
    parser = _add(
        commands,
        "mend",
        _mend,
        "write the cells of rows set aside to a list, or take the list back filled in",
    )
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE",
        help="the list with its values, CSV or .xlsx; without it one is written",
    )
    parser.add_argument(
        "--output",
        type=Path,
        metavar="FILE",
        help="where to write the list, .csv or .xlsx (default to-mend.csv)",
    )


def _add_settle(commands: Any) -> None:
    parser = _add(
        commands,
        "settle",
        _settle,
        "list the words of the log that nothing gives a meaning, with what each may mean, or take the list back filled in",
    )
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE",
        help="the list with its meanings, CSV or .xlsx; - is standard input; without it the words are listed",
    )
    _printing(parser)


def _add_key(commands: Any) -> None:
    parser = _add(
        commands, "key", _key, "put another key on the store: rotate keeps joins, forget breaks them"
    )
    parser.add_argument(
        "what",
        choices=("rotate", "forget"),
        help="rotate: a new key, figures and later loads as before; forget: nobody can test any more who is in the store, "
        "and what is loaded later does not join what is there",
    )


def _add_forget(commands: Any) -> None:
    parser = _add(commands, "forget", _forget, "erase one customer's address and its machines from the store")
    parser.add_argument(
        "--site", required=True, metavar="ID", help="as your files have it; parts with | between"
    )


def _add_job_sheet(commands: Any) -> None:
    parser = _add(
        commands,
        "job-sheet",
        _job_sheet,
        "write the sheet to record jobs on: a page to print, and a workbook with drop-downs that loads as it is",
    )
    parser.add_argument(
        "--output",
        type=Path,
        metavar="FILE",
        help="F.html or F.xlsx (default: both, as job-sheet.html and job-sheet.xlsx in this folder)",
    )


def _add_measure(commands: Any) -> None:
    from pipeline.measures import MEASURES
    from pipeline.measures.question import BASES, CLOCKS, KINDS

    parser = _add(commands, "measure", _measure, "work out one figure: " + ", ".join(MEASURES))
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
    _printing(parser)


def _add_symptom(commands: Any) -> None:
    parser = _add(commands, "symptom", _symptom, "say what usually fixes a symptom, and holds")
    parser.add_argument(
        "words",
        nargs="?",
        default="",
        metavar="WORDS",
        help="what the customer says; may be left out with --back-test",
    )
    parser.add_argument("--type", default="", metavar="T", help="kind of machine")
    parser.add_argument("--model", default="", metavar="M", help="model, where it is known")
    parser.add_argument("--code", default="", metavar="C", help="fault code, where one is shown")
    parser.add_argument(
        "--back-test",
        action="store_true",
        help="instead, learn from the earlier jobs and score the answers on the later ones",
    )
    parser.add_argument("--before", metavar="D", help="back-test: first day that is foretold")
    parser.add_argument(
        "--machine-out", action="store_true", help="order of checks: the machine stands out already"
    )
    parser.add_argument(
        "--panel-off", action="store_true", help="order of checks: the panels are off already"
    )
    parser.add_argument(
        "--checked",
        default="",
        metavar="A,B",
        help="order of checks: parts checked already and found good; installation for the look outside",
    )
    parser.add_argument(
        "--on-van",
        default="",
        metavar="A,B",
        help="order of checks: parts that lie on the van; with --van those of its stock",
    )
    parser.add_argument("--van", metavar="NAME", help="the van that goes, as the stock list calls it")
    parser.add_argument(
        "--job",
        default="",
        metavar="J",
        help="a job of the log: its complaint, kind and model, and its machine before",
    )
    parser.add_argument(
        "--calls",
        nargs="?",
        const="next",
        metavar="D",
        help="instead, the calls booked for a day (the next one in the log), each with its answer",
    )
    parser.add_argument(
        "--bring", action="store_true", help="instead, the parts to bring for the best chance of finishing"
    )
    _printing(parser)


def _add_van_stock(commands: Any) -> None:
    from pipeline.stock.wish import USUAL_JOBS

    parser = _add(
        commands,
        "van-stock",
        _van_stock,
        "choose what a van should carry, so that as many jobs as possible end at the first visit",
    )
    parser.add_argument("--budget", type=float, metavar="M", help="money that one van's stock may cost")
    parser.add_argument("--litres", type=float, metavar="L", help="room that it may take")
    parser.add_argument("--lines", type=int, metavar="N", help="different parts at most")
    parser.add_argument(
        "--jobs-between-restocks",
        type=int,
        default=USUAL_JOBS,
        metavar="N",
        help=f"attended fault jobs of one van, with or without a part (default {USUAL_JOBS})",
    )
    parser.add_argument(
        "--replay",
        action="store_true",
        help="instead, what this list would have done on months it did not know, beside others",
    )
    parser.add_argument(
        "--changes",
        action="store_true",
        help="instead, what to put in and take out of each van of the stock list",
    )
    parser.add_argument(
        "--load-list",
        action="store_true",
        help="instead, write sheets to print, one a van, with boxes to tick (--output F.html, default load-list.html)",
    )
    parser.add_argument(
        "--each-van",
        action="store_true",
        help="a list for each van (technician of the log) by its own work; with --replay, what they would have done",
    )
    _printing(parser)


def _add_stores(commands: Any) -> None:
    parser = _add(
        commands,
        "stores",
        _stores,
        "say how many of each part to keep in the stores, what was waited for and what to let go",
    )
    parser.add_argument(
        "--ready-rate",
        type=float,
        default=0.95,
        metavar="R",
        help="how often a piece shall be there when the next one is needed (default 0.95)",
    )
    parser.add_argument("--short-cost", type=float, metavar="C", help="instead, what one missing piece costs")
    parser.add_argument(
        "--last-time-buy",
        default="",
        metavar="PART",
        help="instead, how many of a part to buy that can soon be had no more",
    )
    parser.add_argument(
        "--years",
        type=int,
        default=10,
        metavar="N",
        help="last-time buy: how long it has to last (default 10)",
    )
    parser.add_argument(
        "--over-cost",
        type=float,
        metavar="C",
        help="last-time buy: what a piece costs that is never used (default: its price)",
    )
    _printing(parser)


def _add_toss(commands: Any) -> None:
    parser = _add(
        commands,
        "toss",
        _toss,
        "let chance choose between cleaning and replacing where you are undecided, and say when enough is known",
    )
    parser.add_argument("--part", required=True, metavar="P", help="number of the part")
    parser.add_argument(
        "--job", default="", metavar="J", help="number of the job, so that it can be followed"
    )
    _printing(parser)


def _add_pocket_sheet(commands: Any) -> None:
    parser = _add(
        commands,
        "pocket-sheet",
        _pocket_sheet,
        "write what usually fixes each symptom to one page for a phone that needs no network",
    )
    parser.add_argument(
        "--output", type=Path, metavar="F.html", help="where to write it (default pocket-sheet.html)"
    )


def _add_month(commands: Any) -> None:
    parser = _add(
        commands,
        "month",
        _month,
        "write the last whole month on one page to print: safety first, comebacks and whose bill, who waits, what pays",
    )
    parser.add_argument(
        "--output", type=Path, metavar="F.html", help="where to write it (default month.html)"
    )


def _add_dashboard(commands: Any) -> None:
    parser = _add(commands, "dashboard", _dashboard, "show the pages in a browser on this machine")
    parser.add_argument("--port", type=int, default=8501, metavar="N")


def _demo(options: argparse.Namespace) -> None:
    from pipeline.demo import demo_text, load_demo

    load_demo(options.store, options.key, _say)
    print(demo_text(options.store))
    if not options.no_dashboard and sys.stdout.isatty():
        _dashboard(options)


def _load(options: argparse.Namespace) -> None:
    from pipeline.load import load

    lists = {kind: getattr(options, kind) for kind in ("machines", "parts", "stock", "notices")}
    if not options.files and not any(lists.values()):
        raise WrongUseError(
            "load needs at least one file: mendstat load FILE … [--machines F] [--parts F] [--stock F] [--notices F]."
        )
    report = load(
        options.store,
        [_source(path, options.called) for path in options.files],
        layout=options.layout,
        **lists,
        key_path=options.key,
        progress=_progress(),
    )
    print(report.text())


def _source(path: Path, called: str | None) -> Any:
    """A file by its path; "-" is standard input, which is kept in memory only."""
    from pipeline.intake.source import Source

    if path != STANDARD_INPUT:
        return Source(path)
    return Source(Path(called or "standard input"), sys.stdin.buffer.read())


def _recognise(options: argparse.Namespace) -> int:
    from pipeline.recognition.recognising import recognise, write_layout
    from pipeline.recognition.telling import answer_in, told

    found = recognise(_source(options.file, None), options.store)
    print(told(found))
    if found.is_known:
        return 0
    path = write_layout(found, options.store, options.output)
    print(answer_in(found, path))
    return int(bool(found.questions))


def _reread(options: argparse.Namespace) -> None:
    from pipeline.load import reread

    reread(options.store, progress=_progress())
    _say("Everything was built again from what was received.")


def _log_check(options: argparse.Namespace) -> None:
    import polars as pl

    from pipeline.log_check import as_text, log_check
    from pipeline.show import json_bytes

    if options.privacy:
        from pipeline.sharing.intruder import singling_out, singling_out_of_the_share
        from pipeline.store.folder import Store

        with Store(options.store).connect() as con:
            _show(singling_out(con).vstack(singling_out_of_the_share(con)), options)
        return
    rows = log_check(options.store)
    if options.format == "json":
        _print_or_write(json_bytes(rows), options.output)
        return
    if options.format == "table":
        from pipeline.store.folder import Store
        from pipeline.store.on_disk import on_disk

        told = f"{as_text(rows)}\n{on_disk(Store(options.store)).text()}\n"
        _print_or_write(_first_of_all(options.store) + told.encode(), options.output)
        return
    flat = [
        {name: value for name, value in row.items() if not isinstance(value, list | dict)} for row in rows
    ]
    _show(pl.DataFrame(flat, infer_schema_length=None), options)


def _first_of_all(store: Path) -> bytes:
    """What stands before everything else: safety reports and notices, where there are any."""
    from pipeline.measures.safety_words import first_of_all
    from pipeline.store.folder import Store

    with Store(store).connect() as con:
        said = first_of_all(con)
    return f"{said}\n\n".encode() if said else b""


def _export(options: argparse.Namespace) -> None:
    from pipeline.sharing.own_log import own_log
    from pipeline.sharing.shared_cells import shared_export
    from pipeline.store.folder import Store

    with Store(options.store).connect() as con:
        if not options.share:
            _show(own_log(con), options)
            return
        shared = shared_export(con)
    _show(shared.cells, options)
    if options.output is None:
        _say(shared.statement)
    else:
        statement = options.output.with_name(f"{options.output.stem}-statement.txt")
        _print_or_write(shared.statement.encode(), statement)
        _say(f"What was done to it is written in {statement}.")


def _mend(options: argparse.Namespace) -> None:
    from pipeline.mend import take_back, write_list

    if options.file is None:
        found, path = write_list(options.store, options.output)
        print(found.text(path))
        return
    if options.output is not None:
        raise WrongUseError(
            "mend either writes a list (--output) or takes one back (FILE): name one of the two."
        )
    print(take_back(options.store, options.file, progress=_progress()).text())


def _settle(options: argparse.Namespace) -> None:
    from pipeline.settle import list_file, take_back
    from pipeline.store.folder import Store

    if options.file is not None:
        if options.output is not None:
            raise WrongUseError(
                "settle either writes a list (--output) or takes one back (FILE): name one of the two."
            )
        print(take_back(options.store, _source(options.file, None), progress=_progress()).text())
        return
    found = list_file.found_in(Store(options.store))
    sentences = list_file.told(found)
    if options.format == "table" and options.output is not None:
        list_file.write_list(found, options.output)
        print(
            "\n".join([f"{options.output} written.", *sentences, list_file.HOW.format(path=options.output)])
        )
        return
    frame = list_file.frame_of(found)
    if options.format != "table":
        _show(frame, options)
        return
    if frame.height:
        sentences.append(
            "To settle them: mendstat settle --output to-settle.csv, or the page “Words to settle”."
        )
    _show(frame.head(list_file.SHOWN), options, sentences) if frame.height else print("\n".join(sentences))


def _key(options: argparse.Namespace) -> None:
    from pipeline.rekeying import forget, rotate
    from pipeline.store.key import default_path

    path = options.key or default_path()
    if options.what == "rotate":
        rotate(options.store, path, _progress() or _silent)
        _say(f"\nThe store has a new key, in {path}. Make a new back-up of that file, and of the store.")
    else:
        forget(options.store, path, _progress() or _silent)
        _say(
            "\nNobody can test any more who is in the store. Remove your older back-ups of it: they still could be tested."
        )


def _forget(options: argparse.Namespace) -> None:
    from pipeline.erasing import forget_site
    from pipeline.store.key import default_path

    rows = forget_site(options.store, options.site, options.key or default_path(), _progress() or _silent)
    _say(
        f"\n{rows:,} rows were erased, and everything was built again without them. Erase the address from your own files "
        "and older back-ups too: loading a file that holds it brings it back."
    )


def _silent(_text: str) -> None:
    pass


def _job_sheet(options: argparse.Namespace) -> None:
    from pipeline.job_sheet import write_sheets

    for path in write_sheets(options.output):
        print(f"{path} written.")


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
        _say(MEASURES[options.name].when_none)
    _show(result, options)
    if options.working:
        _say(working.text())
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


def _symptom(options: argparse.Namespace) -> None:
    if options.back_test:
        _back_test(options)
    elif options.calls:
        _calls(options)
    elif not options.words and not options.job:
        raise WrongUseError('symptom needs the customer\'s words: mendstat symptom "not draining".')
    else:
        _answer_symptom(options)


# The nearest question that a log of texts and outcomes still answers.
ELSE_ASK = "How often such a job ends fixed, and what stops the rest: mendstat measure fixed-share, or not-fixed-reasons, --by unit_type,symptom."


def _answer_symptom(options: argparse.Namespace) -> None:
    from pipeline.errors import CannotAnswerError
    from pipeline.measures.symptom_fixes import find_fixes, stop_text
    from pipeline.measures.symptom_words import Case, understand
    from pipeline.stock.bring import bring
    from pipeline.store.folder import Store

    store = Store(options.store)
    with store.connect() as con:
        said = (options.words, options.type, options.model, options.code)
        call = _call(con, options.job) if options.job else None
        understood = understand(con, call.case(*said) if call else Case(*said), store.vocabulary)
        if understood.dangers:
            _show_rows([{"stop": stop_text(understood)}], options)
            return
        try:
            fixes = find_fixes(con, understood)
        except CannotAnswerError as error:
            raise CannotAnswerError(f"{error} {ELSE_ASK}") from None
        _say_first(con, call, fixes, options)
        brought = bring(con, fixes, options.van)
        _show_rows(brought.rows() if options.bring else fixes.rows, options)
        if options.format == "table" and options.output is None and not options.bring:
            _print_further(con, fixes, brought, store.vocabulary, options)


def _say_first(con: Any, call: Any, fixes: Any, options: argparse.Namespace) -> None:
    """Above the answer: the machine before, the cautions, how the words were read."""
    from pipeline.measures.machine_before import before, before_text

    if options.format != "table":
        return
    if call is not None:
        _say(before_text(before(con, call)))
    for caution in fixes.cautions():
        _say(caution)
    _say(f"Understood as: {fixes.understood.text()}")


def _print_further(con: Any, fixes: Any, brought: Any, vocabulary: Path, options: argparse.Namespace) -> None:
    """Below the answer: in which order to check, what to bring, how long to book."""
    from pipeline.stock.bring_words import bring_text

    on_van = [piece.part_name for piece in brought.pieces if piece.on_van] + _names(options.on_van)
    checks = _checks_text(fixes, fixes.understood.unit_type or "", vocabulary, options, on_van)
    for part in (checks, bring_text(brought), _booking_words(con, fixes)):
        print(f"\n{part}")


def _call(con: Any, job: str) -> Any:
    from pipeline.errors import CannotAnswerError
    from pipeline.measures.calls import call_of

    call = call_of(con, job)
    if call is None:
        raise CannotAnswerError(f"The log has no job “{job}”, or several of that number.")
    return call


def _calls(options: argparse.Namespace) -> None:
    from pipeline.errors import CannotAnswerError
    from pipeline.measures import moment_of
    from pipeline.measures.calls import call_rows, days_with_calls
    from pipeline.store.folder import Store

    with Store(options.store).connect() as con:
        days = [day for day, _ in days_with_calls(con)]
        if options.calls == "next" and not days:
            raise CannotAnswerError(
                "No visit is booked and not done after the log's last report: calls are read from booked_for."
            )
        day = days[0] if options.calls == "next" else moment_of(options.calls, "--calls").date()
        _show_rows(call_rows(con, day), options)


def _booking_words(con: Any, fixes: Any) -> str:
    from pipeline.errors import CannotAnswerError
    from pipeline.measures.time_to_book import time_to_book
    from pipeline.stock.bring_words import booking_text

    try:
        return booking_text(time_to_book(con, fixes))
    except CannotAnswerError as error:
        return str(error)


def _names(text: str) -> list[str]:
    return [name.strip() for name in text.split(",") if name.strip()]


def _back_test(options: argparse.Namespace) -> None:
    from pipeline.measures import moment_of
    from pipeline.measures.symptom_back_test import back_test
    from pipeline.measures.symptom_words import Case, understand
    from pipeline.show import json_bytes
    from pipeline.store.folder import Store

    store = Store(options.store)
    split = moment_of(options.before, "--before").date() if options.before else None
    with store.connect() as con:
        symptoms = understand(con, Case(options.words), store.vocabulary).symptoms if options.words else ()
        tried = back_test(con, symptoms, split)
    if options.format == "json":
        _print_or_write(
            json_bytes([{**tried.rows[0], "calibration": tried.calibration}, *tried.rows[1:]]), options.output
        )
        return
    _say(f"Learnt from jobs finished before {tried.split}, scored on fixes that held, to {tried.until}.")
    _show_rows(tried.rows, options)
    if options.format == "table" and options.output is None:
        print("\nChances given by this answer, by tenths, and how often it happened:")
        _show_rows(tried.calibration, options)


def _pocket_sheet(options: argparse.Namespace) -> None:
    from pipeline.pocket_sheet import write_pocket_sheet
    from pipeline.store.folder import Store

    path, found = write_pocket_sheet(Store(options.store), options.output)
    print(
        f"{path} written: {len(found.entries)} symptoms by kind of machine. Counts of fewer than ten jobs, and what would tell "
        "them, are left out. Copy it to the phone; print it for one sheet a symptom."
    )


def _month(options: argparse.Namespace) -> None:
    from pipeline.store.folder import Store
    from pipeline.summary import write_month
    from pipeline.summary.telling import danger, worth_a_look

    path, found = write_month(Store(options.store), options.output)
    print(f"{path} written: {found.period.days}, one side of A4. {danger(found)} {worth_a_look(found)[0]}")


def _checks_text(
    fixes: Any, kind: str, vocabulary: Path, options: argparse.Namespace, on_van: list[str]
) -> str:
    from pipeline.measures.check_order import check_order
    from pipeline.measures.check_words import order_text
    from pipeline.vocabulary.check_minutes import check_table

    order = check_order(
        fixes,
        check_table(vocabulary),
        kind,
        machine_out=options.machine_out,
        panel_off=options.panel_off,
        missed=_names(options.checked),
        on_van=on_van,
    )
    return order_text(order)


def _show_rows(rows: list[dict[str, Any]], options: argparse.Namespace) -> None:
    import polars as pl

    from pipeline.show import json_bytes

    if options.format == "json":
        _print_or_write(json_bytes(rows), options.output)
    else:
        _show(pl.DataFrame(rows, infer_schema_length=None), options)


def _van_stock(options: argparse.Namespace) -> None:
    from pipeline.show import write
    from pipeline.stock import each_van, load_list, replay
    from pipeline.stock.van import basis_of, changes, van_stock
    from pipeline.stock.van_rows import notes, rows
    from pipeline.stock.wish import Wish
    from pipeline.store.folder import Store

    if options.changes + options.replay + options.load_list > 1:
        raise WrongUseError("van-stock takes one of --replay, --changes and --load-list.")
    if options.each_van and (options.changes or options.load_list):
        raise WrongUseError(
            "--each-van cannot be held against the stock list: which technician drives which of its vans, nobody knows."
        )
    wish = Wish(options.budget, options.litres, options.lines, options.jobs_between_restocks)
    progress = _progress() or _silent
    progress("Reading what jobs needed")
    with Store(options.store).connect() as con:
        basis = basis_of(con)
        work = each_van.work_of(con) if options.each_van else {}
    if options.each_van and not options.replay:
        choices = each_van.each_van(basis, wish, _progress())
        listed = each_van.each_van_rows(choices, work)
        _show(listed.drop("why") if options.format == "table" else listed, options, each_van.notes(choices))
        return
    progress("Choosing what to carry")
    found = van_stock(basis, wish)
    if options.replay:
        played = replay.replay(found, each_van=options.each_van, progress=_progress())
        said = [replay.sentence(played), *replay.basis_words(found.basis, played)]
        _show(replay.rows(played, priced=found.basis.parts.has_costs), options, said)
    elif options.load_list:
        path = options.output or Path("load-list.html")
        write(load_list.page(found).encode(), path)
        print(f"{path} written: print it, a sheet a van.")
    elif options.changes:
        _show(changes(found), options)
    else:
        listed = rows(found)
        # On a screen the numbers say why; the words are for whoever reads the list elsewhere.
        _show(listed.drop("why") if options.format == "table" else listed, options, notes(found))


def _stores(options: argparse.Namespace) -> None:
    from pipeline.stock import last_buy
    from pipeline.stock.stores import stores
    from pipeline.stock.stores_rows import ON_A_SCREEN
    from pipeline.stock.stores_wish import StoresWish
    from pipeline.stock.stores_words import notes
    from pipeline.store.folder import Store

    wish = StoresWish(options.ready_rate, options.short_cost)
    with Store(options.store).connect() as con:
        if options.last_time_buy:
            bought = last_buy.last_buy(con, options.last_time_buy, options.years, wish, options.over_cost)
            _show(bought.frame, options, last_buy.notes(bought))
            return
        found = stores(con, wish)
    frame = found.frame.select(ON_A_SCREEN) if options.format == "table" else found.frame
    _show(frame, options, notes(found))


def _toss(options: argparse.Namespace) -> None:
    import polars as pl

    from pipeline.trial import toss

    tossed = toss(options.store, options.part.strip(), options.job.strip())
    if options.format == "table":
        _print_or_write("".join(f"{sentence}\n" for sentence in tossed.said).encode(), options.output)
    else:
        _show(pl.DataFrame([tossed.row]), options)


def _dashboard(options: argparse.Namespace) -> NoReturn:
    # The pages stand on top of the pipeline, which never imports them: they take this process over, so that a signal
    # meant for it reaches them.
    sys.stdout.flush()
    command = [
        sys.executable,
        "-m",
        "dashboards.serve",
        "--store",
        str(options.store),
        "--port",
        str(options.port),
    ]
    os.execv(sys.executable, command)  # noqa: S606 -- our own module, run by this very Python


def _show(result: Any, options: argparse.Namespace, notes: Sequence[str] = ()) -> None:
    """Print or write a result; sentences about it stand below a table, and nowhere else."""
    from pipeline.show import render

    how = options.format
    if how == "parquet" and options.output is None:
        raise WrongUseError("Parquet is not for a screen: name a file with --output.")
    if how == "table" and options.output is not None and options.output.suffix.casefold() == ".xlsx":
        how = "xlsx"
    below = "".join(f"{note}\n" for note in notes) if how == "table" else ""
    _print_or_write(render(result, how) + (f"\n{below}" if below else "").encode(), options.output)


def _print_or_write(content: bytes, output: Path | None) -> None:
    from pipeline.show import write

    if output is None:
        sys.stdout.write(content.decode())
        sys.stdout.flush()
    else:
        write(content, output)


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _progress() -> Callable[[str], None] | None:
    """A line that rewrites itself on standard error, on a terminal only."""
    if not sys.stderr.isatty():
        return None
    return lambda text: print(f"\r\033[K{text}", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
