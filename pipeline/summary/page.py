"""The summary as one page: HTML that needs nothing from outside and prints on one side of A4."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from pipeline.plain_words import counted, day, figure, percent, whole
from pipeline.summary import telling
from pipeline.summary.counts import Count
from pipeline.summary.summing import Summary

# Nothing is fetched and nothing is sent, whatever stands in the page.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
# So much fits on one side with room to spare, whatever the log holds.
LINES = 4
REPORTS = 3  # as on the pages
BAR, TALL = 150, 14  # of a usual range, in CSS pixels
_STYLE = """
@page { size: A4; margin: 9mm 14mm; }
* { box-sizing: border-box; }
body { font: 10pt/1.33 "Source Sans 3", "Liberation Sans", Arial, Helvetica, sans-serif; color: #22303a; background: #fff;
  margin: 0 auto; max-width: 182mm; padding: 6mm 4mm; }
h1, h2, .look { font-family: "Source Serif 4", "Liberation Serif", Georgia, serif; }
h1 { font-size: 19pt; font-weight: 600; margin: 0; }
h2 { font-size: 12pt; font-weight: 600; margin: 2.2mm 0 .3mm; border-top: .3mm solid #d9d3c7; padding-top: 1.2mm; }
p { margin: .4mm 0; }
ul { margin: .6mm 0 0; padding-left: 4.5mm; }
li { margin: 0; }
.soft { color: #5e6b73; font-size: 9pt; }
.first { border: .6mm solid #22303a; padding: 1mm 2.4mm; margin: 1.6mm 0 .8mm; }
.look { font-size: 12pt; line-height: 1.25; margin-top: 1.4mm; }
table { border-collapse: collapse; width: 100%; margin-top: 1mm; }
td, th { text-align: left; padding: .5mm 2mm .7mm 0; font-weight: 400; vertical-align: middle; }
th[scope=col] { color: #5e6b73; font-size: 9.5pt; }
td.n, td.n b { white-space: nowrap; }
@media screen and (max-width: 640px) { td.n { white-space: normal; overflow-wrap: anywhere; } td:nth-child(2) { padding-right: 3mm; } .drawn { display: none; } }
@media print { body { padding: 0; max-width: none; } li { white-space: nowrap; overflow: hidden; text-overflow: ellipsis; } }
"""


def page(found: Summary) -> str:
    """
    The summary as HTML.

    Parameters
    ----------
    found : Summary
        Lists longer than LINES are cut, with their number.
    """
    look, to_do = telling.worth_a_look(found)
    parts = (
        f"<h1>{escape(found.period.name)}</h1>",
        f'<p class="soft">The firm by its own log, {escape(found.period.days)}.</p>',
        _first(found),
        f'<p class="look">{escape(look)}</p>',
        _do(to_do),
        "<h2>How it went</h2>",
        _text(telling.reported(found)),
        _table(found),
        "<h2>What came back, and whose bill</h2>",
        _text(telling.came_back(found)),
        _list([telling.comeback_line(row) for row in found.back]),
        "<h2>Who waits for a part</h2>",
        _text(telling.waits(found)),
        _list([telling.waiting_line(row) for row in found.waiting]),
        _earning(found),
        f'<p class="soft" style="margin-top:2mm">{escape(_foot(found))}</p>',
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}"><meta name="viewport" content="width=device-width">'
        f"<title>{escape(found.period.name)}</title><style>{_STYLE}</style></head>\n<body>\n"
        + "\n".join(filter(None, parts))
        + "\n</body></html>\n"
    )


def _first(found: Summary) -> str:
    """Safety reports above everything; notices that concern machines with them."""
    lines = _list([telling.danger_line(row) for row in found.danger], REPORTS)
    noticed = ""
    if found.notices:
        one, many = "notice concerns machines in the log", "notices concern machines in the log"
        noticed = _text(f"{counted(found.notices, one, many)}: see mendstat log-check.")
    to_do = (
        _do("Make safe first; then read the job before it. Every report: mendstat measure safety-reports.")
        if found.danger
        else ""
    )
    return f'<div class="first"><p><b>{escape(telling.danger(found))}</b></p>{lines}{to_do}{noticed}</div>'


def _table(found: Summary) -> str:
    rows = [
        _counted("Comebacks within the guarantee", found.comebacks),
        _counted("Trips in vain", found.in_vain),
        _measured("Jobs ended by the first visit", found.first_visits, percent),
        _measured("Hours nobody pays for, per 100 jobs", found.unpaid, figure),
    ]
    head = "".join(f'<th scope="col">{name}</th>' for name in ("", "now", "usual or likely"))
    return f"<table><tr>{head}</tr>{''.join(rows)}</table>"


def _counted(name: str, count: Count) -> str:
    """A count: how many of how many, the usual range for so many, and both drawn."""
    if not count.is_known:
        return _line(name, "–", "the log does not say", "")
    now = f"{whole(count.events)} of {whole(count.of)}"
    if count.usual is None:
        return _line(name, now, "not known yet", "")
    usual = f"usual {whole(count.usual.low)} to {whole(count.usual.high)}: {telling.against(count)}"
    most = max(count.usual.high, count.events, 1)
    return _line(name, now, usual, _bar(count.usual.low, count.usual.high, count.events, most, "usual range"))


def _measured(name: str, row: dict[str, Any] | None, write: Any) -> str:
    """A measure of these days with its likely range."""
    if row is None:
        return _line(name, "–", "the log does not say", "")
    if row["value"] is None or row["high"] is None:
        return _line(name, "too few to say", f"{whole(row['denominator'])} jobs", "")
    rough = ", rough" if row["sample"] == "rough" else ""
    most = 1.0 if row["unit"].startswith("share") else row["high"]
    bar = _bar(row["low"], row["high"], row["value"], most, "likely range")
    return _line(name, write(row["value"]), f"likely {write(row['low'])} to {write(row['high'])}{rough}", bar)


def _line(name: str, now: str, beside: str, drawn: str) -> str:
    return (
        f'<tr><th scope="row">{escape(name)}</th><td class="n"><b>{escape(now)}</b></td><td class="n">{escape(beside)}</td>'
        f'<td class="drawn">{drawn}</td></tr>'
    )


def _bar(low: float, high: float, value: float, most: float, what: str) -> str:
    """A range as a line and the figure as a point on it, from nought to the most."""

    def at(x: float) -> str:
        return f"{6 + (BAR - 12) * x / (most or 1.0):.1f}"

    middle = TALL / 2
    return (
        f'<svg width="{BAR}" height="{TALL}" role="img" aria-label="{what}">'
        f'<line x1="{at(0)}" y1="{middle}" x2="{at(most)}" y2="{middle}" stroke="#d9d3c7"/>'
        f'<line x1="{at(low)}" y1="{middle}" x2="{at(high)}" y2="{middle}" stroke="#1d5c63" stroke-width="4" stroke-linecap="round"/>'
        f'<circle cx="{at(value)}" cy="{middle}" r="5" fill="#9a4a2f" stroke="#fff"/></svg>'
    )


def _earning(found: Summary) -> str:
    said = telling.earning(found)
    if not said:
        return ""
    return f"<h2>What pays</h2>{_text(said)}<p class=soft>The whole log to {escape(day(found.period.last_on))}; wages not taken off.</p>"


def _text(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def _do(text: str) -> str:
    return f'<p class="soft"><b>What to do</b> — {escape(text)}</p>'


def _list(lines: Sequence[str], most: int = LINES) -> str:
    """So many lines as fit, on paper one line each; then how many more there are."""
    if not lines:
        return ""
    shown = lines[:most]
    more = len(lines) - len(shown)
    items = "".join(f"<li>{escape(line)}</li>" for line in shown)
    return f"<ul>{items}{f'<li>and {whole(more)} more</li>' if more else ''}</ul>"


def _foot(found: Summary) -> str:
    days = (
        ""
        if found.comebacks.usual is None and found.in_vain.usual is None
        else (
            "Usual: 19 of 20 months fall within if nothing changed (from up to two years before); one in 20 falls outside by chance. "
        )
    )
    return (
        f"{days}Likely: holds the true figure in 95 of 100 cases. Comeback: the same fault, reported within the guarantee after our own "
        "fix. What nobody wrote down is not in here. Made by mendstat on the firm's own machine."
    )
