"""What came in: every row of every file accounted for, and what a field that is not filled costs."""

from __future__ import annotations

from dashboards import blocks, data
from dashboards.questions import accounts, gaps


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title("The log", fleet)
    if fleet is None:
        blocks.empty()
        return
    accounts.render(fleet)
    blocks.parting()
    gaps.render(fleet)
