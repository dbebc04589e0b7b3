"""Exports of the invented firm's log as other programs and people would write it, each with habits of its own."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

from sample_logs.exports import json_lines, notebook, spreadsheet, three_files, visit_sheet
from sample_logs.exports.written import Planted
from sample_logs.jobs import Row

EXPORTS: dict[str, ModuleType] = {
    "spreadsheet": spreadsheet,
    "json lines": json_lines,
    "visit sheet": visit_sheet,
    "three files": three_files,
    "notebook": notebook,
}
LAYOUTS = Path(__file__).parent.parent / "layouts"


def layout_files() -> dict[str, Path]:
    """Layout files of the exports, by the name of the layout."""
    return {path.stem: path for path in sorted(LAYOUTS.glob("*.toml"))}


def write_exports(rows: list[Row], folder: Path) -> dict[str, Planted]:
    """
    Write every export of a log.

    Parameters
    ----------
    rows : list of dict
        The standard log, as `sample_logs.simulate` gives it; the same rows give the same bytes.
    folder : Path
        Made if it is not there; files of the same name are replaced.

    Returns
    -------
    dict of str to Planted
        What was planted, by export.
    """
    folder.mkdir(parents=True, exist_ok=True)
    return {name: export.write(rows, folder) for name, export in EXPORTS.items()}
