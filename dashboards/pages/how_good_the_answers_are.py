"""For whoever asks whether the answers at the machine can be trusted: tried on the log's own later jobs."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import how_good


def render() -> None:
    """Draw the page."""
    page_of("How good the answers are", (how_good,))
