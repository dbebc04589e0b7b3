"""Write the sample files again: `python -m sample_logs.generate [--seed N] [--machines N] [--out DIR]`."""

from __future__ import annotations

import argparse
from pathlib import Path

from sample_logs import STANDARD
from sample_logs.scenario import SEED
from sample_logs.simulate import simulate
from sample_logs.write import write_files


def main(arguments: list[str] | None = None) -> None:
    """Simulate the firm and write its five files."""
    parser = argparse.ArgumentParser(prog="python -m sample_logs.generate", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--machines", type=int, default=2000, help="machines under care")
    parser.add_argument("--out", type=Path, default=STANDARD, help="folder to write to")
    options = parser.parse_args(arguments)
    write_files(simulate(options.seed, options.machines), options.out)


if __name__ == "__main__":
    main()
