"""The teaching sheet: one side of A4 on one procedure. What goes wrong, what holds, the checks in order, cautions first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from pipeline.vocabulary.cautions import AFTER_WORK, GENERAL

_STYLE = """
@page { size: A4; margin: 10mm 12mm; }
* { box-sizing: border-box; }
body { font: 10.5pt/1.3 "Source Sans 3", "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 186mm; padding: 4mm; }
h1 { font: 600 17pt/1.2 "Source Serif 4", "Liberation Serif", Georgia, serif; margin: 0 0 2mm; }
h2 { font-size: 11.5pt; margin: 2.8mm 0 .8mm; border-top: .3mm solid #000; padding-top: 1.5mm; }
.caution { border: .7mm solid #000; padding: 1.5mm 2.5mm; margin: 0 0 2mm; font-size: 9.5pt; font-weight: 600; columns: 2; column-gap: 5mm; }
.caution span { display: block; break-inside: avoid; margin-bottom: .8mm; }
@media (max-width: 640px) { .caution { columns: 1; } }
ul, ol { margin: 0; padding-left: 6mm; }
li { margin: .5mm 0; break-inside: avoid; }
small { font-size: 9.5pt; }
.write { border-bottom: .25mm solid #000; height: 8mm; }
.foot { font-size: 9pt; margin: 4mm 0 0; }
@media print { body { padding: 0; max-width: none; } }
"""


@dataclass(frozen=True)
class Sheet:
    """
    What stands on it, in words.

    Attributes
    ----------
    title : str
    cautions, wrong, holds, steps : sequence of str
        Cautions of the machine; what goes wrong; fixes that held; checks in their order.
    rests_on : str
        Population and window.
    """

    title: str
    cautions: Sequence[str]
    wrong: Sequence[str]
    holds: Sequence[str]
    steps: Sequence[str]
    rests_on: str


def sheet_page(sheet: Sheet) -> str:
    """The sheet as HTML that needs nothing from outside."""
    parts = [
        "<!DOCTYPE html>",
        (
            f'<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
            f"<title>{escape(sheet.title)}</title><style>{_STYLE}</style></head><body>"
        ),
        f"<h1>{escape(sheet.title)}</h1>",
        _cautions(sheet.cautions),
        _list("What goes wrong", sheet.wrong),
        _list("What holds", sheet.holds),
        _list("Check in this order", sheet.steps, "ol"),
        _list("Before you leave", AFTER_WORK),
        '<h2>What we do from now on</h2><div class="write"></div><div class="write"></div><p><small>Taught on: ____________</small></p>',
        f'<p class="foot">{escape(sheet.rests_on)}</p>',
        "</body></html>",
    ]
    return "\n".join(filter(None, parts)) + "\n"


def _cautions(sentences: Sequence[str]) -> str:
    lines = "".join(f"<span>{escape(sentence)}</span>" for sentence in sentences or [GENERAL])
    return f'<div class="caution">{lines}</div>'


def _list(name: str, lines: Sequence[str], kind: str = "ul") -> str:
    if not lines:
        return ""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<h2>{escape(name)}</h2><{kind}>{items}</{kind}>"
