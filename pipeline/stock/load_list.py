"""The load list to print: one sheet a van with boxes to tick, and first what to fetch from the stores."""

from __future__ import annotations

from html import escape

import numpy as np

from pipeline.stock.van import VanStock, changes
from pipeline.stock.words import counted

_STYLE = """
@page { size: A4; margin: 12mm 12mm; }
* { box-sizing: border-box; }
body { font: 11pt/1.3 "Source Sans 3", "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 186mm; padding: 5mm 0; }
h1 { font-size: 15pt; margin: 0 0 1mm; }
section { break-after: page; margin-bottom: 9mm; }
section:last-child { break-after: auto; }
p { margin: 0 0 2.5mm; }
table { border-collapse: collapse; width: 100%; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th { text-align: left; font-size: 10pt; font-weight: 600; border-bottom: .4mm solid #000; padding: .6mm 1.5mm; }
td { border-bottom: .2mm solid #000; padding: 1mm 1.5mm; }
.number { text-align: right; white-space: nowrap; }
.bold { font-weight: 700; white-space: nowrap; }
.tick { width: 7mm; }
.tick::before { content: ""; display: inline-block; width: 4mm; height: 4mm; border: .35mm solid #000; vertical-align: -.7mm; }
.foot { font-size: 10pt; margin-top: 3mm; }
.wide { overflow-x: auto; }
@media (max-width: 640px) { body { padding: 4mm; } td, th { padding-left: 1mm; padding-right: 1mm; } }
@media print { body { padding: 0; max-width: none; } }
"""
Cells = list[tuple[str, str]]  # text and class


def page(found: VanStock) -> str:
    """
    The list as HTML that needs nothing from outside.

    With a stock list that names vans: what to fetch from the stores for all of them, then a sheet a van with what to put
    in and take out. Without one: a single sheet with what belongs on each van.
    """
    now = found.basis.now
    sheets = (
        [_stores(found), *(_van(found, place) for place in now.vans)] if now.vans else [_every_van(found)]
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Load list</title><style>{_STYLE}</style></head>\n<body>\n"
        + "\n".join(sheets)
        + "\n</body></html>\n"
    )


def _stores(found: VanStock) -> str:
    """Pieces that all vans want together, those that come off other vans taken first."""
    basis = found.basis
    moves = changes(found)
    keys, now = basis.past.keys, basis.now
    there = now.on_vans(keys)
    wanted = np.maximum(found.stock - there, 0).sum(axis=0)
    spare = np.maximum(there - found.stock, 0).sum(axis=0)
    shelf = now.at(now.stores, keys)
    fetch = np.maximum(wanted - spare, 0)
    rows = [
        [
            ("", "tick"),
            *_label(found, part),
            (f"{fetch[part]:,}", "number bold"),
            (f"{shelf[part]:,}", "number"),
            (_or_dash(fetch[part] - shelf[part]), "number"),
        ]
        for part in _in_order(found, np.flatnonzero(fetch))
    ]
    header = ["", "number", "part", "fetch", "in stores", "order"]
    back = int(np.maximum(spare - wanted, 0).sum())
    foot = (
        f"Pieces that one van gives up go to another that wants them first. Back to the stores: {counted(back, 'piece', 'pieces')} in all."
        if moves.height
        else ""
    )
    return _sheet("Fetch from the stores, for all vans", _basis(found), header, rows, foot)


def _van(found: VanStock, place: str) -> str:
    keys = found.basis.past.keys
    there = found.basis.now.at([place], keys)
    rows: list[Cells] = []
    for part in _in_order(found, np.flatnonzero((found.stock > 0) | (there > 0))):
        put, out = int(found.stock[part] - there[part]), int(there[part] - found.stock[part])
        rows.append(
            [
                ("", "tick"),
                *_label(found, part),
                (f"{there[part]:,}", "number"),
                (_or_dash(put), "number bold"),
                (_or_dash(out), "number bold"),
                (f"{found.stock[part]:,}", "number"),
            ]
        )
    header = ["", "number", "part", "there", "put in", "take out", "then"]
    return _sheet(
        place, _basis(found), header, rows, "Count again when it is loaded, and correct the stock list."
    )


def _every_van(found: VanStock) -> str:
    rows: list[Cells] = [
        [("", "tick"), *_label(found, part), (f"{found.stock[part]:,}", "number bold")]
        for part in _in_order(found, np.flatnonzero(found.stock))
    ]
    foot = "With a stock list (mendstat load --stock) there is a sheet for each van with what to put in and take out."
    return _sheet("Load of each van", _basis(found), ["", "number", "part", "pieces"], rows, foot)


def _in_order(found: VanStock, parts: np.ndarray) -> list[int]:
    """By number, as parts lie on a shelf."""
    frame = found.basis.parts.frame
    return sorted(
        parts.tolist(), key=lambda part: (frame["part_no"][part] or "~", frame["part_name"][part] or "")
    )


def _label(found: VanStock, part: int) -> Cells:
    known = found.basis.parts.frame.row(part, named=True)
    return [(known["part_no"] or "–", "bold"), (known["part_name"] or "–", "")]


def _basis(found: VanStock) -> str:
    past, lines = found.basis.past, int((found.stock > 0).sum())
    return (
        f"{counted(lines, 'line', 'lines')}, {counted(int(found.stock.sum()), 'piece', 'pieces')} on each van; from "
        f"{past.jobs:,} jobs {past.bounds.window.in_words()}."
    )


def _or_dash(count: int) -> str:
    return f"{count:,}" if count > 0 else "–"


def _sheet(title: str, says: str, header: list[str], rows: list[Cells], foot: str) -> str:
    kinds = [kind for _, kind in rows[0]] if rows else [""] * len(header)
    heads = "".join(
        f'<th class="{"number" if "number" in kind else ""}">{escape(name)}</th>'
        for name, kind in zip(header, kinds, strict=True)
    )
    body = "".join(_row(row) for row in rows)
    table = (
        f'<div class="wide"><table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table></div>'
        if rows
        else "<p>Nothing.</p>"
    )
    return (
        f"<section><h1>{escape(title)}</h1><p>{escape(says)}</p>{table}"
        + (f'<p class="foot">{escape(foot)}</p>' if foot else "")
        + "</section>"
    )


def _row(cells: Cells) -> str:
    return "<tr>" + "".join(f'<td class="{kind}">{escape(text)}</td>' for text, kind in cells) + "</tr>"
