"""The command line: parse, call, print. Nothing is worked out here."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence

from pipeline.cli import at_the_machine, keeping, measuring, pages, sheets, stocking, taking_in
from pipeline.errors import MendstatError

# In the order in which they are listed.
COMMANDS = (
    taking_in.add_demo,
    taking_in.add_load,
    taking_in.add_recognise,
    taking_in.add_reread,
    keeping.add_log_check,
    keeping.add_settle,
    keeping.add_mend,
    measuring.add_measure,
    stocking.add_van_stock,
    stocking.add_stores,
    keeping.add_export,
    sheets.add_job_sheet,
    keeping.add_key,
    keeping.add_forget,
    at_the_machine.add_symptom,
    stocking.add_toss,
    sheets.add_month,
    sheets.add_pocket_sheet,
    pages.add_dashboard,
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
    options = parser().parse_args(arguments)
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
    except Exception as error:
        trouble = _trouble_with_build(error)
        if trouble is None:
            raise
        print(f"mendstat: {trouble}", file=sys.stderr)
        return trouble.exit_code


def _trouble_with_build(error: Exception) -> MendstatError | None:
    # Imported here: whoever only asks for help needs no database.
    from pipeline.store.opening import trouble_with_build

    return trouble_with_build(error)


def _speak_utf8() -> None:
    """Print UTF-8 wherever we are: a locale that knows ASCII only must not change or stop what is printed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8")


def parser() -> argparse.ArgumentParser:
    """All commands with their options."""
    found = argparse.ArgumentParser(
        prog="mendstat",
        description="Works out, from a repair firm's own job records, which faults and fixes pay off. Everything stays on this machine.",
    )
    commands = found.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for add in COMMANDS:
        add(commands)
    return found
