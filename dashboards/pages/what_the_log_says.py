"""The three headlines: what breaks down, what comes back, how long a fix takes."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import barriers, breakdowns, fixed, missed, repeats, times


def render() -> None:
    """Draw the page."""
    page_of("What the log says", (breakdowns, repeats, times), instead=(fixed, barriers, missed))
