"""What is kept about people, what is not, and how many jobs somebody who knows a little could still single out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.data import Fleet
from dashboards.questions.gaps import Filled, bar_block
from dashboards.words import Told
from pipeline.measures.people import FEWEST_JOBS
from pipeline.normalise.areas import FEWEST_SITES
from pipeline.sharing.intruder import AS_KEPT, KNOWN_IN_WORDS

RARE = 0.01  # a share of jobs that stand alone below which a coarser record is worth its loss
KEPT = (
    (
        "Replaced",
        (
            "customer or address, machine, serial number and technician: each by a made-up word, the same one every time, that only "
            "your key makes. The key is not with the log."
        ),
    ),
    (
        "Cut",
        (
            f"a postcode to its first three signs; and an area with fewer than {FEWEST_SITES} addresses counts under “other areas”, "
            f"so that nobody in it stands alone: a neighbour has {FEWEST_SITES} doors to choose from."
        ),
    ),
    (
        "Read and dropped",
        "a free note. Known words of the trade are taken out of it, a danger above all; the rest is not kept.",
    ),
    (
        "Cleaned",
        (
            "short texts such as symptom, finding and name of a part: what looks like a name, a telephone number, an address, an account, "
            "a date of absence or a way in becomes [removed]. In a cell meant for a date or an amount anything else keeps its shape only."
        ),
    ),
    (
        "Not kept",
        (
            "columns that no figure is made from, names of sheets, comments in cells. A column that should hold words and holds names or "
            "telephone numbers stops the load."
        ),
    ),
    (
        "Not shown",
        (
            f"figures by technician, unless somebody asks for them (--people); never of fewer than {FEWEST_JOBS} jobs, never ranked. "
            "A log cannot tell a slow hand from a hard job."
        ),
    ),
)
REMAINS = (
    (
        "The key",
        (
            "Whoever has the key and the log can test whether a certain address or serial is in it. Keep a copy of the key file away from "
            "the log and its back-up: without it nothing more can be loaded. mendstat key rotate puts a new one on; mendstat key forget "
            "throws the link away for good."
        ),
    ),
    (
        "Dates and faults of single jobs",
        (
            "stay, because a return within 30 days cannot be counted without them. Who knows that somebody came to a neighbour in May "
            "about a leak may find that job."
        ),
    ),
    (
        "A word nobody can know",
        (
            "A family name written small, without a title, a given name or “rang” beside it, looks like any word of the trade. So does "
            "a short number without a word before it, and a name in letters that have no capitals. And a maker who is called like a "
            "person is taken for one, until the layout's [values.make] names it."
        ),
    ),
    (
        "In law",
        (
            "replaced is not anonymous: such a log is still personal data (GDPR, Art. 4(5) and Recital 26), of customers and of those who "
            "work here: they may ask what is kept and have it erased. It belongs on a disk you look after, its key elsewhere, and it is "
            "kept no longer than needed. What your own program and its back-ups hold, mendstat cannot erase."
        ),
    ),
)


def render(fleet: Fleet) -> None:
    """Draw the question."""
    looks = fleet.singling_out()
    blocks.ask("What is kept about people?")
    blocks.answer(tell(looks))
    blocks.points(*KEPT)
    as_kept = [look for look in looks if look["made_coarser"] == AS_KEPT]
    if as_kept and as_kept[0]["jobs"]:
        _drawn(looks, as_kept)
    blocks.points(*REMAINS)
    blocks.what_next(what_next(looks))


def _drawn(looks: Sequence[dict[str, Any]], as_kept: Sequence[dict[str, Any]]) -> None:
    blocks.under("Jobs that nobody else fits, by how much somebody knows of one:")
    for look in as_kept:
        st.html(bar_block(look["knows"], "", Filled(look["singled_out"], look["jobs"], "jobs")))
    blocks.rests_on(
        "Of all dated jobs. Such a job can be told from every other, and what else the log says of it can be read. Area is that of "
        "the postcode; fault is what the customer saw."
    )
    blocks.worked_out(
        [
            (
                "Jobs are put into groups that agree in everything somebody is taken to know; a job alone in its group is singled out. "
                "k is the size of the smallest group (k-anonymity), l the fewest outcomes in one (l-diversity)."
            ),
            "The lower rows make the record coarser, one step upon the other; the log itself is not changed by it.",
            "The same as text: mendstat log-check --privacy.",
        ],
        ["known of a job", "made coarser", "alone", "of jobs", "k", "l"],
        [
            [
                look["knows"],
                look["made_coarser"],
                words.whole(look["singled_out"]),
                words.whole(look["jobs"]),
                words.whole(look["smallest_group"]),
                words.whole(look["fewest_outcomes_in_a_group"]),
            ]
            for look in looks
        ],
    )


def tell(looks: Sequence[dict[str, Any]]) -> Told:
    """No names; and how many jobs stand alone for somebody who knows area, kind, month and fault."""
    sure = "Names, addresses and telephone numbers are taken out before anything is written."
    known = _as_kept(looks)
    if known is None or not known["jobs"]:
        return Told(sure)
    alone = f"{words.whole(known['singled_out'])} of {words.counted(known['jobs'], 'job', 'jobs')}"
    return Told(
        sure, f"But who knows area, kind of machine, month and fault can tell {alone} from all others."
    )


def _as_kept(looks: Sequence[dict[str, Any]]) -> dict[str, Any] | None:
    return next(
        (look for look in looks if look["made_coarser"] == AS_KEPT and look["knows"] == KNOWN_IN_WORDS), None
    )


def what_next(looks: Sequence[dict[str, Any]]) -> str:
    """Do not hand it on; and the first step of coarsening that would leave hardly a job alone."""
    coarser = [look for look in looks if look["made_coarser"] != AS_KEPT]
    enough = next((at for at, look in enumerate(coarser) if (look["share_singled_out"] or 0.0) < RARE), None)
    known = _as_kept(looks)
    advice = ""
    if (
        known is not None
        and known["jobs"]
        and (known["share_singled_out"] or 0.0) >= RARE
        and enough is not None
    ):
        # Of two steps on the same column only the later one is left: years, not quarters and years.
        last = {
            look["made_coarser"].split(" instead ")[-1]: look["made_coarser"]
            for look in coarser[: enough + 1]
        }
        steps = " and ".join(last.values())
        advice = f"Rows would have to hold {steps} before fewer than one job in a hundred stands alone. "
    return (
        f"Do not hand this log on. {advice}For others there is mendstat export --share: counts of ten jobs and more, by month. A customer "
        "who asks to be forgotten: mendstat forget --site."
    )
