"""
Write the sample files again: `python -m sample_logs.generate [--seed N] [--machines N] [--out DIR]`.

With `--exports DIR` the same firm's log is written there as other programs would write it, and nothing else.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from sample_logs import STANDARD
from sample_logs.exports import write_exports
from sample_logs.scenario import SEED
from sample_logs.simulate import simulate
from sample_logs.write import write_files


def main(arguments: list[str] | None = None) -> None:
    """Simulate the firm and write its five files, or its exports."""
    parser = argparse.ArgumentParser(prog="python -m sample_logs.generate", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--machines", type=int, default=2000, help="machines under care")
    parser.add_argument("--out", type=Path, default=STANDARD, help="folder to write to")
    parser.add_argument("--exports", type=Path, help="folder for the log as other programs would write it")
    options = parser.parse_args(arguments)
    files = simulate(options.seed, options.machines)
    if options.exports is None:
        write_files(files, options.out)
    else:
        write_exports(files["log"], options.exports)


if __name__ == "__main__":
    main()
