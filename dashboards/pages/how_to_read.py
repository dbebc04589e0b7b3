"""How to read the figures: ranges, samples, whose machines, followed to, what is kept about people, limits."""

from __future__ import annotations

import polars as pl

from dashboards import blocks, data, words
from dashboards.charts.interval_rows import Scale, interval_rows
from dashboards.words import Told

EXAMPLE = pl.DataFrame(
    {
        "label": ["enough", "rough", "too few to say"],
        "said": ["24 % · 22 of 92", "5 of 18 · rough", "2 of 6 · too few to say"],
        # Wilson limits (level 0.95) of 22 in 92, 5 in 18 and 2 in 6.
        "low": [0.163, 0.125, 0.097],
        "value": [0.239, 0.278, None],
        "high": [0.336, 0.509, 0.700],
        "sample": ["enough", "rough", "too few"],
    }
)


def render() -> None:
    """Draw the page."""
    blocks.title("How to read the figures", data.open_fleet())
    _ranges()
    blocks.parting()
    _whose_machines()
    blocks.parting()
    _people()
    blocks.parting()
    _limits()


def _ranges() -> None:
    blocks.ask("How sure is a figure?")
    told = Told("As sure as its line is short.", "A dashed line has no point: there is too little to say.")
    blocks.answer(told)
    scale = Scale("came back (an invented example)", ".0%", most=1)
    blocks.chart(
        f"{told.sure} {told.undecided} An invented example with three rows: enough, rough, too few to say.",
        interval_rows,
        EXAMPLE,
        scale,
    )
    limits = data.sample_limits()
    blocks.points(
        (
            "The line",
            (
                "is the likely range. Made this way, 95 in 100 such lines hold the true figure; 5 do "
                "not, and nobody knows which. "
                "Where two lines overlap, do not call one better unless the page does."
            ),
        ),
        ("A filled point", "means that enough stands behind the figure to plan with."),
        (
            "A hollow point",
            (
                f"is rough: fewer than {limits['proportion_enough_n']:.0f} jobs (or machines, where the same ones come "
                f"again), or fewer than {limits['rate_enough_events']:.0f} breakdowns, or a range wider than "
                f"{100 * limits['proportion_max_width']:.0f} in 100. Good for a hunch, not for a rule."
            ),
        ),
        (
            "A dashed line without a point",
            (
                f"is too few to say: fewer than {limits['proportion_min_n']:.0f} jobs, or fewer than "
                f"{limits['rate_min_events']:.0f} breakdowns. The range is still true."
            ),
        ),
        ("An arrow at the end", "means that the range goes on past the edge."),
        (
            "Long lists",
            (
                "are sorted by the end of the range that speaks most surely, not by the point: with "
                "many rows, the top of a list looks worse than it is."
            ),
        ),
    )


def _whose_machines() -> None:
    blocks.ask("Which machines, and until when?")
    blocks.answer(
        Told(
            "Under every chart stands whose machines it is about and until which day they were followed.",
            _followed(),
        )
    )
    blocks.points(
        (
            "Machine list",
            "every machine under care, those that never failed too: the best base for breakdowns a year.",
        ),
        (
            "Machines seen",
            (
                "those that called at least once. Quiet machines are missing, so breakdowns look "
                "more frequent than they are; the first job of each machine "
                "is left out, for without it the machine would not be known."
            ),
        ),
        (
            "Shares of jobs",
            (
                "all that is left where nobody wrote down which machine it was. It says what the "
                "work is, not how often a machine fails."
            ),
        ),
        (
            "Followed to",
            (
                "the last day by which nearly all jobs are closed, never today: the last weeks "
                "cannot have come back yet, and jobs still open would make "
                "every figure look better."
            ),
        ),
        (
            "Left out",
            "is said wherever it happens, with its number. The page “The log” accounts for every row.",
        ),
    )


def _followed() -> str:
    fleet = data.open_fleet()
    window = fleet.window() if fleet else None
    if window is None:
        return blocks.NO_LOG
    return (
        f"This log: first job {words.day(window.first_on)}, last report {words.day(window.last_report_on)}; "
        f"finished jobs counted to {words.day(window.followed_to)}."
    )


def _people() -> None:
    blocks.ask("What is kept about people?")
    blocks.answer(Told("No names, no addresses, no telephone numbers."))
    blocks.points(
        (
            "Where",
            (
                "all of it stays on this machine. These pages listen to this machine only, ask "
                "nothing outside and send nothing anywhere."
            ),
        ),
        (
            "Still careful",
            (
                "replaced is not anonymous: who knows a customer's story may know the job. The page “The log” says what is "
                "kept, what is not, and how many jobs could be told from all others."
            ),
        ),
    )


def _limits() -> None:
    blocks.ask("What can the figures not say?")
    blocks.answer(Told("What happened, yes. What would have happened, no."))
    blocks.points(
        (
            "Freed or replaced",
            (
                "was somebody's choice, and the parts that looked good were freed. The figures of "
                "the two are not a trial."
            ),
        ),
        ("Came back", "is a floor: some customers call somebody else, and nobody writes that down."),
        (
            "Many looks",
            (
                "at many parts find something by chance. One odd row is a reason to read its jobs, "
                "not to change a rule."
            ),
        ),
        ("What was not recorded", "cannot be counted; a part that nobody names looks as if it held."),
    )
    blocks.caution()
    blocks.what_next(
        "Smell of gas or burning, a shock, smoke, water near electrics: stop, make safe, refer. "
        "No figure on these pages is a reason to go on. "
        "Parts that keep people safe are replaced, whatever pays."
    )
