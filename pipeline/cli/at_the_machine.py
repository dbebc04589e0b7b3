"""The command `symptom`: the answer for a technician, the day's calls, the back-test."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.cli.speaking import add_command, add_printing, names, print_or_write, say, show_rows
from pipeline.errors import WrongUseError


def add_symptom(commands: Any) -> None:
    """Options of `symptom`."""
    parser = add_command(commands, "symptom", _symptom, "say what usually fixes a symptom, and holds")
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
    add_printing(parser)


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
            show_rows([{"stop": stop_text(understood)}], options)
            return
        try:
            fixes = find_fixes(con, understood)
        except CannotAnswerError as error:
            raise CannotAnswerError(f"{error} {ELSE_ASK}") from None
        _say_first(con, call, fixes, options)
        brought = bring(con, fixes, options.van)
        show_rows(brought.rows() if options.bring else fixes.rows, options)
        if options.format == "table" and options.output is None and not options.bring:
            _print_further(con, fixes, brought, store.vocabulary, options)


def _say_first(con: Any, call: Any, fixes: Any, options: argparse.Namespace) -> None:
    """Above the answer: the machine before, the cautions, how the words were read."""
    from pipeline.measures.machine_before import before, before_text

    if options.format != "table":
        return
    if call is not None:
        say(before_text(before(con, call)))
    for caution in fixes.cautions():
        say(caution)
    say(f"Understood as: {fixes.understood.text()}")


def _print_further(con: Any, fixes: Any, brought: Any, vocabulary: Path, options: argparse.Namespace) -> None:
    """Below the answer: in which order to check, what to bring, how long to book."""
    from pipeline.stock.bring_words import bring_text

    on_van = [piece.part_name for piece in brought.pieces if piece.on_van] + names(options.on_van)
    checks = _checks_text(con, fixes, vocabulary, options, on_van)
    for part in (checks, bring_text(brought), _booking_words(con, fixes)):
        print(f"\n{part}")


def _checks_text(
    con: Any, fixes: Any, vocabulary: Path, options: argparse.Namespace, on_van: list[str]
) -> str:
    from pipeline.measures.check_order import check_order
    from pipeline.measures.check_words import order_text
    from pipeline.measures.timed_checks import timed_checks

    order = check_order(
        fixes,
        timed_checks(con, vocabulary),
        fixes.understood.unit_type or "",
        machine_out=options.machine_out,
        panel_off=options.panel_off,
        missed=names(options.checked),
        on_van=on_van,
    )
    return order_text(order)


def _booking_words(con: Any, fixes: Any) -> str:
    from pipeline.errors import CannotAnswerError
    from pipeline.measures.time_to_book import time_to_book
    from pipeline.stock.bring_words import booking_text

    try:
        return booking_text(time_to_book(con, fixes))
    except CannotAnswerError as error:
        return str(error)


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
        show_rows(call_rows(con, day), options)


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
        tried = back_test(con, symptoms, split, store.vocabulary)
    if options.format == "json":
        print_or_write(
            json_bytes([{**tried.rows[0], "calibration": tried.calibration}, *tried.rows[1:]]), options.output
        )
        return
    say(f"Learnt from jobs finished before {tried.split}, scored on fixes that held, to {tried.until}.")
    show_rows(tried.rows, options)
    if options.format == "table" and options.output is None:
        print("\nChances given by this answer, by tenths, and how often it happened:")
        show_rows(tried.calibration, options)
