"""Charts as files: SVG and PNG by vl-convert (optional), the numbers behind them as CSV."""

from __future__ import annotations

import copy
import importlib.util
from html import escape
from typing import Any

import polars as pl

from pipeline.show import harmless_in_a_spreadsheet

WIDTH = 760  # pixels of a drawing that no page gives a width
PNG_SCALE = 2  # points of the picture a pixel of the drawing
MISSING = "Charts as files need one more package: pip install 'mendstat[charts]'"
FORMATS = ("svg", "png")


def can_draw() -> bool:
    """Whether the optional package is there."""
    return importlib.util.find_spec("vl_convert") is not None


def as_file(drawn: dict[str, Any], how: str) -> bytes:
    """
    A drawing as a file.

    Parameters
    ----------
    drawn : dict
        A Vega-Lite drawing as the pages show it; one that takes the width of its page is drawn 760 pixels wide.
    how : str
        One of FORMATS.

    Raises
    ------
    ModuleNotFoundError
        If the optional package is not installed (see `can_draw`).
    """
    import vl_convert

    wide = _with_width(drawn)
    # Nothing is asked of any other machine: no address is allowed.
    if how == "png":
        return bytes(vl_convert.vegalite_to_png(wide, scale=PNG_SCALE, allowed_base_urls=[]))
    svg = str(vl_convert.vegalite_to_svg(wide, allowed_base_urls=[]))
    # What the drawing says, for those who do not see it.
    title = f"<title>{escape(str(drawn.get('description', '')))}</title>"
    return svg.replace(">", f' role="img">{title}', 1).encode()


def as_csv(rows: pl.DataFrame) -> bytes:
    """The numbers behind a drawing; no text in it can be taken for a formula."""
    return harmless_in_a_spreadsheet(rows).write_csv().encode()


def _with_width(drawn: dict[str, Any]) -> dict[str, Any]:
    wide = copy.deepcopy(drawn)
    for part in (wide, *wide.get("vconcat", [])):
        if part.get("width") == "container":
            part["width"] = WIDTH
    return wide
