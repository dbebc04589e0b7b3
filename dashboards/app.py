"""The pages as one Streamlit program; `dashboards.serve` starts it through `dashboards/entry/start.py`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from dashboards import blocks, data, look
from dashboards.data import MendstatError
from dashboards.pages import PAGES, Page
from dashboards.words import Told

# A picture of our own: a page icon from an icon font would ask an outside host for it.
ICON = Path(__file__).with_name("icon.svg")

# The page at the root keeps this word to itself, so that the address of its own name is free for the page that leads there.
ROOT_PATH = "first"


def shown(page: Page) -> Callable[[], None]:
    """A page that, where the store cannot be read, shows the sentence that says so."""

    def render() -> None:
        try:
            data.open_fleet()
        except MendstatError as error:
            blocks.title(page.title)
            blocks.answer(Told(str(error)))
            return
        try:
            page.render()
        except MendstatError as error:
            blocks.answer(Told(str(error)))

    return render


def main() -> None:
    """Set the look, offer the pages, draw the one that is open."""
    st.set_page_config(page_icon=str(ICON), layout="centered", menu_items={"about": None})
    st.html(look.style_sheet())
    pages = [
        st.Page(
            shown(page),
            title=page.title,
            url_path=page.path if at else ROOT_PATH,
            default=at == 0,
            visibility="visible" if page.is_in_menu else "hidden",
        )
        for at, page in enumerate(PAGES)
    ]
    shown_now = st.navigation([*pages, _first_by_name(pages[0])], position="top")
    # In the browser's tab, and the first thing that a screen reader says.
    st.set_page_config(page_title=f"{shown_now.title} · mendstat")
    shown_now.run()


def _first_by_name(first: st.Page) -> st.Page:
    """The first page is at the root; whoever opens the address of its own name is led there."""

    def lead() -> None:
        st.switch_page(first)

    return st.Page(lead, title=PAGES[0].title, url_path=PAGES[0].path, visibility="hidden")
