"""Answers that a tap reaches, worked out before anybody taps: whoever stands at the machine does not wait for the commonest ones."""

from __future__ import annotations

from collections.abc import Iterator

from dashboards.data import Fleet
from dashboards.questions import free_or_replace
from pipeline.measures.symptom_words import SUGGESTED, Case

ANY = ""  # no kind of machine was tapped
MOST = 40  # over ten million jobs each takes up to a second


def commonest(fleet: Fleet) -> list[Case]:
    """What stands on the empty screen to be tapped: the commonest symptom of each kind of machine and of all, then the second."""
    offered = [(kind, fleet.suggestions("", kind)) for kind in (*fleet.kinds(), ANY)]
    ranks = range(SUGGESTED)
    return [Case(some[rank], kind) for rank in ranks for kind, some in offered if rank < len(some)][:MOST]


def answer(fleet: Fleet) -> Iterator[None]:
    """Ask for each of them, step by step, what the page asks; the answers stay with the build."""
    fleet.check_table()
    for case in commonest(fleet):
        yield
        understood = fleet.understand(case).understood
        if understood is None or understood.dangers:
            continue
        found = fleet.fixes(understood)
        if found.fixes is not None:
            fleet.bring(understood)
            fleet.booking(understood)
            free_or_replace.ask(fleet, found.fixes)
    for kind in fleet.kinds():
        yield
        fleet.models(kind)
