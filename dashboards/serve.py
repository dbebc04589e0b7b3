"""Serve the pages on this machine, to this machine only: `python -m dashboards.serve --store FOLDER --port N`."""

from __future__ import annotations

import argparse
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from dashboards import STORE_VARIABLE, look

ADDRESS = "127.0.0.1"
ROOT = Path(__file__).resolve().parent
APP = ROOT / "entry" / "start.py"
SECONDS_TO_LEAVE = 5.0

# Options go as flags, not in a settings file: one in the working folder would not be in the wheel, and flags win over
# whatever file lies there.
OPTIONS: dict[str, str] = {
    "server.address": ADDRESS,
    "server.headless": "true",
    "server.fileWatcherType": "none",
    "server.runOnSave": "false",
    "server.allowRunOnSave": "false",
    "server.enableStaticServing": "false",
    "server.enableAgentApi": "false",
    "server.enableXsrfProtection": "true",
    "server.enableCORS": "true",
    # A file given to the page “A new file” stays in memory.
    "server.maxUploadSize": "64",
    "browser.gatherUsageStats": "false",
    "browser.serverAddress": ADDRESS,
    # A full collection of garbage after every tap was nine tenths of what a tap took, and held up what it had drawn; Python
    # collects by itself when enough has come together.
    "runner.postScriptGC": "false",
    "client.toolbarMode": "viewer",
    "client.disableDataExport": "true",
    "client.showErrorDetails": "none",
    "client.showErrorLinks": "false",
    "logger.level": "error",
}
ALLOWED_HOSTS = ("127.0.0.1", "localhost")


def command(port: int) -> list[str]:
    """The command that serves the pages."""
    options = {
        **OPTIONS,
        "server.port": str(port),
        **{f"theme.{name}": value for name, value in look.THEME.items()},
    }
    flags = [f"--{name}={value}" for name, value in options.items()]
    hosts = [f"--server.allowedHosts={host}" for host in ALLOWED_HOSTS]
    return [sys.executable, "-m", "streamlit", "run", str(APP), *flags, *hosts]


def environment(store: Path) -> dict[str, str]:
    """The caller's environment with the store, without settings of Streamlit that a flag does not override."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STREAMLIT_")}
    root = str(ROOT.parent)
    paths = [root, *filter(None, [kept.get("PYTHONPATH")])]
    return {
        **kept,
        STORE_VARIABLE: str(store.resolve()),
        "PYTHONPATH": os.pathsep.join(paths),
        "PYTHONSAFEPATH": "1",
    }


def is_free(port: int) -> bool:
    """Whether nothing listens on the port of this machine."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except OSError:
            return False
    return True


def serve(store: Path, port: int = 8501) -> int:
    """
    Serve the pages until Ctrl-C.

    Parameters
    ----------
    store : pathlib.Path
        The store's folder; it need not exist yet.
    port : int
        Port on 127.0.0.1.

    Returns
    -------
    int
        Exit code: 0 after Ctrl-C, 2 where the port cannot be had, else the server's own.
    """
    if not 1 <= port <= 65535 or not is_free(port):
        sys.stderr.write(
            f"mendstat: port {port} on {ADDRESS} cannot be had. Choose another one: mendstat "
            "dashboard --port N\n"
        )
        return 2
    sys.stderr.write(f"The pages are at http://{ADDRESS}:{port} (this machine only). Ctrl-C ends.\n")
    # The same session: Ctrl-C, or a terminal that closes, reaches the server too, whatever happens to us.
    child = subprocess.Popen(command(port), env=environment(store), stdout=subprocess.DEVNULL)  # noqa: S603
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        return child.wait()
    except KeyboardInterrupt:
        return 0
    finally:
        _end(child)


def _end(child: subprocess.Popen[bytes]) -> None:
    if child.poll() is not None:
        return
    child.terminate()
    try:
        child.wait(SECONDS_TO_LEAVE)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()


def main(arguments: Sequence[str] | None = None) -> int:
    """Read the store and the port, and serve."""
    parser = argparse.ArgumentParser(
        prog="mendstat dashboard", description="Shows the pages in a browser on this machine."
    )
    parser.add_argument("--store", type=Path, default=Path("mendstat-store"), metavar="FOLDER")
    parser.add_argument("--port", type=int, default=8501, metavar="N")
    options = parser.parse_args(arguments)
    return serve(options.store, options.port)


if __name__ == "__main__":
    sys.exit(main())
