"""
How long each page of a store takes to be worked out: shown first, and after a change of each thing that can be chosen on it.

    python -m tests.benchmarks.pages STORE [--most 12]

Seconds of the clock and of the processors in one process, without the browser's drawing (`at_the_machine` has that). A change
is asked for the first time; `again` are the same changes asked once more.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from streamlit.testing.v1 import AppTest

from dashboards import STORE_VARIABLE
from dashboards.pages import PAGES
from tests.benchmarks.figures import seconds

MOST = 12  # changes of a page that are measured


def _script(path: str) -> None:
    from dashboards.pages import PAGES

    next(page for page in PAGES if page.path == path).render()


def shown(path: str) -> AppTest:
    """The page as it is drawn first."""
    at = AppTest.from_function(_script, args=(path,), default_timeout=900).run()
    if at.exception:
        raise SystemExit(f"{path}: {at.exception[0].value}")
    return at


def choices(at: AppTest) -> Iterator[Callable[[AppTest], Any]]:
    """Changes that a person can make: each choice of the page to another of its options."""
    for place, box in enumerate(at.selectbox):
        for option in [each for each in box.options if each != box.value][:4]:
            yield lambda at, place=place, option=option: at.selectbox[place].select(option)
    for place, group in enumerate(at.button_group):
        for option in [each for each in group.options if each not in _chosen(group)][:4]:
            yield lambda at, place=place, option=option: at.button_group[place].select(option)
    for place, slider in enumerate(at.slider):
        for value in (slider.min, (slider.min + slider.max) / 2):
            yield lambda at, place=place, value=value: at.slider[place].set_value(value)


def _chosen(group: Any) -> list[Any]:
    return group.value if isinstance(group.value, list) else [group.value]


def measure(path: str, most: int) -> None:
    """Print one line for a page."""
    pages: list[AppTest] = []
    first = seconds(lambda: pages.append(shown(path)))
    at = pages[0]
    rounds: list[list[tuple[float, float]]] = [[], []]
    for change in list(choices(at))[:most]:
        for took in rounds:
            at = shown(path)
            took.append(seconds(lambda at=at, change=change: change(at).run()))
            if at.exception:
                raise SystemExit(f"{path}: {at.exception[0].value}")
    said = f"{path:28}{first[0]:8.2f} ({first[1]:.2f})"
    for took in rounds:
        said += f"{_of(took)}"
    print(f"{said}  {len(rounds[0])} changes", flush=True)


def _of(took: list[tuple[float, float]]) -> str:
    if not took:
        return f"{'':>24}"
    middle, late = np.quantile([clock for clock, _ in took], [0.5, 0.95])
    return f"{middle:10.2f} {late:6.2f} ({np.median([used for _, used in took]):.2f})"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("store", type=Path)
    parser.add_argument("--most", type=int, default=MOST)
    options = parser.parse_args()
    os.environ[STORE_VARIABLE] = str(options.store)
    print(f"{'page':28}{'first':>15}{'change: middle, 95 %':>24}{'again':>24}   seconds (of the processors)")
    for page in PAGES:
        measure(page.path, options.most)


if __name__ == "__main__":
    main()
