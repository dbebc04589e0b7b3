"""The command line: parse, call, print. Nothing is worked out here."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from pipeline.cli import at_the_machine, keeping, measuring, pages, sheets, stocking, taking_in
from pipeline.errors import MendstatError

# In the order in which they are listed.
COMMANDS = {
    "demo": taking_in.add_demo,
    "load": taking_in.add_load,
    "recognise": taking_in.add_recognise,
    "reread": taking_in.add_reread,
    "log-check": keeping.add_log_check,
    "settle": keeping.add_settle,
    "mend": keeping.add_mend,
    "measure": measuring.add_measure,
    "van-stock": stocking.add_van_stock,
    "stores": stocking.add_stores,
    "export": keeping.add_export,
    "job-sheet": sheets.add_job_sheet,
    "key": keeping.add_key,
    "forget": keeping.add_forget,
    "symptom": at_the_machine.add_symptom,
    "toss": stocking.add_toss,
    "month": sheets.add_month,
    "pocket-sheet": sheets.add_pocket_sheet,
    "dashboard": pages.add_dashboard,
}

# These answer from what was built last, which may not hold all that was received.
FROM_THE_BUILD = frozenset(
    [
        "log-check",
        "measure",
        "symptom",
        "van-stock",
        "stores",
        "toss",
        "month",
        "pocket-sheet",
        "export",
        "settle",
    ]
)


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
    given = sys.argv[1:] if arguments is None else list(arguments)
    options = parser(given[:1]).parse_args(given)
    try:
        return _run(options, given[0])
    except MendstatError as error:
        print(f"mendstat: {error}", file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # The reader (say, `head`) has seen enough; leave quietly and keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    except Exception as error:
        trouble = _trouble_with_build(error)
        if trouble is None:
            raise
        print(f"mendstat: {trouble}", file=sys.stderr)
        return trouble.exit_code


def _run(options: argparse.Namespace, command: str) -> int:
    code = int(options.run(options) or 0)
    if command in FROM_THE_BUILD:
        _say_what_is_behind(options.store)
    return code


def _say_what_is_behind(path: Path) -> None:
    from pipeline.behind import behind
    from pipeline.store.folder import Store

    store = Store(path)
    with store.connect() as con:
        told = behind(store, con)
    if told:
        print(f"mendstat: {told}", file=sys.stderr)


def _trouble_with_build(error: Exception) -> MendstatError | None:
    # Imported here: whoever only asks for help needs no database.
    from pipeline.store.opening import trouble_with_build

    return trouble_with_build(error)


def _speak_utf8() -> None:
    """Print UTF-8 wherever we are: a locale that knows ASCII only must not change or stop what is printed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8")


def parser(asked: Sequence[str] = ()) -> argparse.ArgumentParser:
    """
    Commands with their options.

    Parameters
    ----------
    asked : sequence of str
        What the arguments begin with. Where that is a command its options alone are made: those of `measure` name every
        figure, and what works figures out takes half a second to be read. Else those of all commands.
    """
    found = argparse.ArgumentParser(
        prog="mendstat",
        description="Works out, from a repair firm's own job records, which faults and fixes pay off. Everything stays on this machine.",
    )
    commands = found.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in [name for name in asked if name in COMMANDS] or COMMANDS:
        COMMANDS[name](commands)
    return found
