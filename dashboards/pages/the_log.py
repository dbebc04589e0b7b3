"""What came in: every row of every file accounted for, and what a field that is not filled costs, what is kept about people."""

from __future__ import annotations

from dashboards import blocks, data, pinned
from dashboards.questions import accounts, coding, gaps, known_machines, people


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title("The log", fleet)
    if fleet is None:
        blocks.empty()
        return
    accounts.render(fleet)
    if not fleet.pinned().has_notice_list:
        blocks.rests_on(pinned.NO_LIST)
    blocks.parting()
    gaps.render(fleet)
    blocks.parting()
    coding.render(fleet)
    blocks.parting()
    known_machines.render(fleet)
    blocks.parting()
    people.render(fleet)
