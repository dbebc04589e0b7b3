"""For whoever buys the parts: what belongs on the van, what may go, what machines waited for."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import carry, let_go, waited_for


def render() -> None:
    """Draw the page."""
    page_of("What to carry", (carry, let_go, waited_for))
