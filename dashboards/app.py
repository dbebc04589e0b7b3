"""The pages as one Streamlit program; `dashboards.serve` starts it through `dashboards/entry/start.py`."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from dashboards import look
from dashboards.pages import PAGES

# A picture of our own: a page icon from an icon font would ask an outside host for it.
ICON = Path(__file__).with_name("icon.svg")


def main() -> None:
    """Set the look, offer the pages, draw the one that is open."""
    st.set_page_config(
        page_title="mendstat", page_icon=str(ICON), layout="centered", menu_items={"about": None}
    )
    st.html(look.style_sheet())
    pages = [
        st.Page(page.render, title=page.title, url_path=page.path, default=at == 0)
        for at, page in enumerate(PAGES)
    ]
    st.navigation(pages, position="top").run()
