"""How pages and charts look: one set of colours, one style sheet, one chart configuration.

Two colours tell two things apart; neither means good or bad. Nothing is said by colour alone.
"""

from __future__ import annotations

from typing import Any

import altair as alt

PAPER = "#FBF9F4"
INK = "#22303A"
SOFT = "#5A666E"  # small text; 5.6 : 1 on paper
RULE = "#D9D3C7"
GRID = "#ECE7DC"
SHADE = "#F1ECE1"
WARM = "#F4EAE4"  # ground of a caution
TEAL = "#1D5C63"
CLAY = "#9A4A2F"
UNDECIDED = "#666B68"  # what cannot be told yet; 5.2 : 1 on paper

SANS = '"Source Sans", "Source Sans 3", sans-serif'
SERIF = '"Source Serif", "Source Serif 4", Georgia, serif'

# Passed as flags when the pages are served: a settings file in the working folder would not be in the wheel.
THEME: dict[str, str] = {
    "base": "light",
    "primaryColor": TEAL,
    "backgroundColor": PAPER,
    "secondaryBackgroundColor": SHADE,
    "textColor": INK,
    "linkColor": TEAL,
    "borderColor": RULE,
    "font": "sans-serif",
    "headingFont": "serif",
    "baseRadius": "small",
}

CSS = f"""
.stMainBlockContainer {{ max-width: 46rem; padding-top: 4.5rem; padding-bottom: 4rem; }}
h1 {{ font-size: 1rem !important; font-weight: 600 !important; font-family: {SANS} !important;
      color: {SOFT} !important; letter-spacing: .01em; padding: 0 !important; }}
h2 {{ font-size: 1.8rem !important; line-height: 1.25 !important; padding: .6rem 0 .3rem !important;
      text-wrap: balance; }}
h3 {{ font-size: 1.2rem !important; padding: .4rem 0 0 !important; }}
.answer {{ font-family: {SERIF}; font-size: 1.35rem; line-height: 1.42; margin: 0 0 .5rem; }}
.answer .undecided {{ color: {UNDECIDED}; }}
.rests {{ color: {SOFT}; font-size: .9rem; line-height: 1.5; margin: 0; }}
.rests a {{ color: {TEAL}; }}
.next {{ font-size: 1rem; line-height: 1.55; margin: .2rem 0 0; }}
.caution {{ border-left: 6px solid {CLAY}; background: {WARM}; padding: .45rem .75rem; font-size: .9rem;
            line-height: 1.32; margin: .5rem 0 0; }}
.caution span {{ display: block; }}
.caution span + span {{ margin-top: .12rem; }}
.caution.stop {{ font-size: 1.15rem; font-weight: 600; border-left-width: 10px; padding: .9rem 1rem; }}
ol.fixes {{ list-style: none; margin: .6rem 0 !important; padding: 0 !important; counter-reset: fix; }}
ol.fixes li {{ counter-increment: fix; border-bottom: 1px solid {RULE}; padding: .7rem 0 .75rem 2.4rem !important;
               margin: 0 !important; position: relative; font-size: 1.1rem; line-height: 1.35; }}
ol.fixes li::before {{ content: counter(fix); position: absolute; left: 0; top: .6rem; color: {TEAL};
                       font-family: {SERIF}; font-size: 1.35rem; }}
ol.fixes.plain li {{ padding-left: 0 !important; }}
ol.fixes.plain li::before {{ content: none; }}
ol.fixes small {{ display: block; color: {SOFT}; font-size: .92rem; line-height: 1.45; }}
/* A heavy frame, and words: no colour says it. */
.pinned {{ border: 3px double {INK}; border-width: 3px 0; padding: .55rem 0 .6rem; margin: 0 0 .6rem; font-size: .95rem; line-height: 1.45; }}
.pinned p {{ margin: .15rem 0 0; color: {SOFT}; }}
.pinned p.lead {{ font-weight: 600; color: {INK}; margin-top: .35rem; }}
.pinned p.lead:first-child {{ margin-top: 0; }}
.pinned ul {{ margin: .1rem 0; padding-left: 1.1rem; }}
.pinned li {{ margin: 0; font-size: inherit; }}
.pinned summary {{ cursor: pointer; color: {TEAL}; }}
.pinned summary p.lead {{ display: inline; }}
.pinned details {{ overflow-wrap: anywhere; }}
.parting {{ border: 0; border-top: 1px solid {RULE}; margin: 2.2rem 0 1.4rem; }}
.wide {{ overflow-x: auto; }}
.figures {{ border-collapse: collapse; width: 100%; font-size: .9rem; }}
.figures th {{ text-align: left; font-weight: 600; color: {SOFT}; padding: .3rem .7rem .3rem 0; vertical-align: bottom; }}
.figures td {{ padding: .35rem .7rem .35rem 0; border-top: 1px solid {RULE}; vertical-align: top; }}
.figures th:first-child, .figures td:first-child {{ min-width: 11rem; }}
.figures .number {{ text-align: right; font-variant-numeric: tabular-nums; }}
.figures td.number, .unbroken {{ white-space: nowrap; }}
.file {{ border-top: 1px solid {RULE}; padding: .8rem 0 .2rem; }}
.file .name {{ font-weight: 600; overflow-wrap: anywhere; }}
.file .sum {{ margin: .2rem 0; font-variant-numeric: tabular-nums; }}
.field {{ border-top: 1px solid {RULE}; padding: .6rem 0; }}
.field .head {{ display: flex; justify-content: space-between; gap: 1rem; }}
.field .head .soft:last-child {{ white-space: nowrap; }}
.field.word {{ padding-bottom: 0; margin-bottom: -.5rem; overflow-wrap: anywhere; }}
.field .track {{ height: 6px; background: {SHADE}; margin: .35rem 0; }}
.field .filled {{ height: 6px; background: {TEAL}; }}
.months {{ display: flex; align-items: flex-end; gap: 2px; height: 22px; margin: .6rem 0 .2rem; }}
.months span {{ flex: 1 1 0; min-width: 2px; background: {UNDECIDED}; opacity: .55; }}
.months .none {{ background: {RULE}; }}
.working {{ border-top: 1px solid {RULE}; margin-top: .9rem; padding-top: .5rem; font-size: .9rem; line-height: 1.5; }}
.working summary {{ cursor: pointer; color: {TEAL}; }}
.working dl {{ margin: .3rem 0 .8rem; padding: 0; }}
.working dt {{ font-weight: 600; margin-top: .45rem; font-size: .9rem; }}
.working dd {{ margin: 0; color: {SOFT}; overflow-wrap: anywhere; font-size: .9rem; }}
.working h4 {{ font-size: 1rem; padding: .8rem 0 0; }}
.working pre {{ white-space: pre-wrap; overflow-wrap: anywhere; font-size: .8rem; background: {SHADE}; padding: .6rem; margin: .3rem 0; }}
[class*="st-key-files-of-chart"] {{ margin-top: -.9rem; }}
[class*="st-key-files-of-chart"]::before {{ content: "Save as"; color: {SOFT}; font-size: .85rem; align-self: center; }}
[class*="st-key-files-of-chart"] p {{ color: {SOFT}; font-size: .85rem; }}
.soft {{ color: {SOFT}; }}
dl.points {{ margin: .4rem 0 !important; padding: 0 !important; }}
.points dt {{ font-weight: 600; margin-top: .7rem; }}
.points dd {{ margin: .1rem 0 0; line-height: 1.5; }}
a:focus-visible, button:focus-visible, summary:focus-visible, .wide:focus-visible, [role=slider]:focus-visible,
label:has(> input:focus-visible), div:has(> input:focus-visible), div:has(> textarea:focus-visible) {{
  outline: 3px solid {TEAL} !important; outline-offset: 2px; }}
/* The tool bar over a chart would stand in the way of the keyboard; its numbers are in a table below. */
[data-testid="stElementToolbar"] {{ display: none !important; }}
[data-testid="stWidgetLabel"] p {{ color: {SOFT}; font-size: .9rem; }}
@media (max-width: 640px) {{
  .stMainBlockContainer {{ padding: 4rem 1rem 3rem; }}
  h2 {{ font-size: 1.55rem !important; }}
  .answer {{ font-size: 1.2rem; }}
  .figures th, .figures td {{ padding-right: .5rem; }}
  .figures th:last-child, .figures td:last-child {{ padding-right: 0; }}
  .figures th:first-child, .figures td:first-child {{ min-width: 7rem; }}
  /* A table too wide for a phone: a row is its name, and below it the cells, each with the name of its column. */
  .stacks, .stacks tbody {{ display: block; }}
  .stacks thead {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
  .stacks tr {{ display: grid; grid-template-columns: 1fr 1fr; column-gap: 1.4rem; border-top: 1px solid {RULE}; padding: .5rem 0; }}
  .stacks.long tr {{ display: block; }}
  .stacks td, .stacks td.number {{ display: flex; justify-content: space-between; gap: .8rem; border: 0; padding: .05rem 0;
                                   white-space: normal; text-align: right; overflow-wrap: anywhere; }}
  .stacks td::before {{ content: attr(data-column); color: {SOFT}; text-align: left; flex-shrink: 0; max-width: 62%; }}
  .stacks td:first-child {{ display: block; grid-column: 1 / -1; text-align: left; font-weight: 600; }}
  .stacks td:first-child::before {{ content: none; }}
}}
@media print {{
  @page {{ size: A4; margin: 16mm; }}
  /* On paper nothing stays folded that is about safety. */
  .pinned details::details-content {{ content-visibility: visible; display: block; }}
  header, [data-testid="stHeader"], [data-testid="stToolbar"], [data-testid="stSidebar"],
  [data-testid="stStatusWidget"], [data-testid="stSelectbox"], [data-testid="stButtonGroup"],
  [data-testid="stDownloadButton"],
  .stExpander:not(:has([open])) {{ display: none !important; }}
  html, body, #root, .stApp, [data-testid="stAppViewContainer"], [data-testid="stMain"] {{
    position: static !important; height: auto !important; overflow: visible !important; }}
  .stMainBlockContainer {{ max-width: none; padding: 0; }}
  .stApp, html, body {{ background: #FFFFFF !important; }}
  /* One question a page: a long chart shrinks to stay with its answer. */
  [data-testid="stVegaLiteChart"], [data-testid="stVegaLiteChart"] > div {{ height: auto !important; }}
  [data-testid="stVegaLiteChart"] svg {{ max-height: 14cm; max-width: 100%; width: auto; height: auto;
    background: transparent !important; }}
  .parting {{ break-before: page; border: 0; margin: 0; }}
  [data-testid="stVegaLiteChart"], .answer, .next, .rests, .file, .field {{ break-inside: avoid; }}
  h2 {{ break-after: avoid; }}
}}
"""


def style_sheet() -> str:
    """The style sheet as one tag."""
    return f"<style>{CSS}</style>"


def chart_config() -> dict[str, Any]:
    """Configuration of every chart: our fonts, quiet axes, text of at least 14 pixels."""
    return {
        "background": PAPER,
        "font": SANS,
        "view": {"stroke": None},
        "axis": {
            "labelColor": SOFT,
            "titleColor": SOFT,
            "labelFontSize": 14,
            "titleFontSize": 14,
            "titleFontWeight": "normal",
            "titleLimit": 320,  # a longer one would make the drawing narrower on a phone
            "domainColor": RULE,
            "tickColor": RULE,
            "gridColor": GRID,
            "labelFlush": True,
        },
        "text": {"font": SANS, "fontSize": 14, "color": INK},
    }


def finish(chart: alt.LayerChart) -> alt.LayerChart:
    """Give a chart the look of the pages."""
    return chart.configure(**chart_config())


def upright(words: str, at: int) -> alt.Chart:
    """What is measured upwards, said level above the axis, so many pixels (below nought) from the top of the drawing."""
    # Not at the top: the program that starts the server needs the colours alone, and polars takes Ctrl-C from it.
    import polars as pl

    named = alt.Chart(pl.DataFrame({"words": [words]}))
    return named.mark_text(align="left", baseline="bottom", color=SOFT).encode(
        x=alt.XValue(0), y=alt.YValue(at), text="words:N"
    )
