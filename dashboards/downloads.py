"""Under each chart: the drawing as SVG or PNG, the numbers behind it as CSV. Made when asked for, not before."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import partial
from typing import Any

import polars as pl
import streamlit as st

from dashboards import chart_files

TYPES = {"svg": "image/svg+xml", "png": "image/png", "csv": "text/csv"}
NAME = "mendstat-chart"
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def offer(says: str, drawn: dict[str, Any], rows: pl.DataFrame) -> None:
    """
    A line of small buttons.

    Parameters
    ----------
    says : str
        The finding in words; tells this chart from others on the page.
    drawn : dict
        The drawing as it went to the browser.
    rows : polars.DataFrame
        The numbers behind it.
    """
    mark = hashlib.sha256(f"{says}{rows.columns}{rows.height}".encode()).hexdigest()[:12]
    with st.container(key=f"files-of-chart-{mark}", horizontal=True, gap="small"):
        for how in chart_files.FORMATS:
            _button(how, mark, partial(chart_files.as_file, {**drawn, "description": says}, how))
        _button("csv", mark, partial(chart_files.as_csv, rows))


def files(name: str, *offered: tuple[str, bytes, str, str]) -> None:
    """
    A line of buttons for whole files.

    Parameters
    ----------
    name : str
        Tells this line from others on the page.
    offered : (words, content, file name, media type)
    """
    with st.container(key=f"files-of-{name}", horizontal=True, gap="small"):
        for words, content, file_name, media in offered:
            st.download_button(
                words,
                content,
                file_name=file_name,
                mime=media,
                key=f"{name}-{file_name}",
                on_click="ignore",
                type="tertiary",
            )


def _button(how: str, mark: str, make: Callable[[], bytes]) -> None:
    can = how == "csv" or chart_files.can_draw()
    st.download_button(
        how.upper(),
        make,
        file_name=f"{NAME}.{how}",
        mime=TYPES[how],
        key=f"{how}-{mark}",
        help=None if can else chart_files.MISSING,
        disabled=not can,
        on_click="ignore",
        type="tertiary",
    )
