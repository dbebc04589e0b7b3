"""The pages, in the order of the menu. A new page is one file and one line here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from dashboards.pages import (
    a_new_file,
    at_the_machine,
    how_good_the_answers_are,
    how_to_read,
    the_log,
    what_does_not_hold,
    what_pays,
    what_the_log_says,
    what_to_carry,
    words_to_settle,
)
from dashboards.questions.how_good import PATH


@dataclass(frozen=True)
class Page:
    """Name, last piece of the address, what draws it, and whether the menu names it: a page may be for those on another one."""

    title: str
    path: str
    render: Callable[[], None]
    is_in_menu: bool = True


PAGES: tuple[Page, ...] = (
    Page("What the log says", "what-the-log-says", what_the_log_says.render),
    Page("What pays", "what-pays", what_pays.render),
    Page("What to carry", "what-to-carry", what_to_carry.render),
    Page("What does not hold", "what-does-not-hold", what_does_not_hold.render),
    Page("At the machine", "at-the-machine", at_the_machine.render),
    Page("How good the answers are", PATH, how_good_the_answers_are.render, is_in_menu=False),
    Page("The log", "the-log", the_log.render),
    Page("A new file", "a-new-file", a_new_file.render),
    Page("Words to settle", "words-to-settle", words_to_settle.render),
    Page("How to read the figures", "how-to-read", how_to_read.render),
)
