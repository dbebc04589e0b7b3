"""The pages as one Streamlit program; `dashboards.serve` starts it through `dashboards/entry/start.py`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import streamlit as st

from dashboards import blocks, look
from dashboards.data import MendstatError
from dashboards.pages import PAGES, Page
from dashboards.words import Told

# A picture of our own: a page icon from an icon font would ask an outside host for it.
ICON = Path(__file__).with_name("icon.svg")


def shown(page: Page) -> Callable[[], None]:
    """A page that, where the store cannot be read, shows the sentence that says so."""

    def render() -> None:
        try:
            page.render()
        except MendstatError as error:
            blocks.answer(Told(str(error)))

    return render


def main() -> None:
    """Set the look, offer the pages, draw the one that is open."""
    st.set_page_config(
        page_title="mendstat", page_icon=str(ICON), layout="centered", menu_items={"about": None}
    )
    st.html(look.style_sheet())
    pages = [
        st.Page(
            shown(page),
            title=page.title,
            url_path=page.path,
            default=at == 0,
            visibility="visible" if page.is_in_menu else "hidden",
        )
        for at, page in enumerate(PAGES)
    ]
    st.navigation(pages, position="top").run()
