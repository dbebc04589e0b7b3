"""For whoever keeps the books: what is new, comebacks, what fixes earn, clean or replace, first visits, hours nobody pays for, waiting customers, parts that fail."""

from __future__ import annotations

from dashboards.asking import page_of
from dashboards.questions import (
    ageing,
    barriers,
    breakdowns,
    cleaning,
    comebacks,
    earning,
    first_visits,
    fixed,
    installations,
    news,
    second_visits,
    unpaid,
    waits,
)


def render() -> None:
    """Draw the page."""
    page_of(
        "What pays",
        (
            news,
            comebacks,
            earning,
            cleaning,
            first_visits,
            second_visits,
            unpaid,
            installations,
            waits,
            breakdowns,
            ageing,
        ),
        instead=(fixed, barriers),
    )
