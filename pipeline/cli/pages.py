"""The command `dashboard`."""

from __future__ import annotations

import argparse
import os
import sys
from typing import Any, NoReturn

from pipeline.cli.speaking import add_command


def add_dashboard(commands: Any) -> None:
    """Options of `dashboard`."""
    parser = add_command(commands, "dashboard", take_over, "show the pages in a browser on this machine")
    parser.add_argument("--port", type=int, default=8501, metavar="N")


def take_over(options: argparse.Namespace) -> NoReturn:
    """
    Hand this process over to the pages, so that a signal meant for it reaches them.

    They stand on top of the pipeline, which never imports them.
    """
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
