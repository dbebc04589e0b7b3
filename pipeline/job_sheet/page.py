"""The page to print: one side of A4, boxes to tick with the standard log's own values, lines to write on."""

from __future__ import annotations

from html import escape

from pipeline.vocabulary import safety_words, standard_values
from pipeline.vocabulary.cautions import GENERAL

LINES_OF_WORK = 4
CHECKS = 2
_STYLE = """
@page { size: A4; margin: 8mm 9mm; }
* { box-sizing: border-box; }
body { font: 10.5pt/1.25 "Source Sans 3", "Liberation Sans", Arial, Helvetica, sans-serif; color: #000; background: #fff; margin: 0 auto;
  max-width: 192mm; padding: 4mm 0; }
h1 { font-size: 13pt; margin: 0; display: inline; }
h2 { font-size: 10.5pt; margin: 0 0 .6mm; }
.caution { border: .7mm solid #000; padding: 1mm 2mm; margin: 1.2mm 0; font-size: 10.5pt; font-weight: 600; }
section { border-top: .3mm solid #000; padding: 1.1mm 0 1mm; break-inside: avoid; }
.row { display: flex; flex-wrap: wrap; gap: 1.2mm 4mm; }
.write { display: flex; align-items: flex-end; gap: 1.5mm; flex: 1 1 auto; height: 6.4mm; white-space: nowrap; }
.write i { flex: 1; border-bottom: .25mm solid #000; height: 5.6mm; min-width: 9mm; }
.ticks { display: flex; flex-wrap: wrap; gap: .8mm 4mm; }
.asked { display: grid; grid-template-columns: 27mm 1fr; gap: 0 2mm; margin-top: 1.2mm; }
b { font-weight: 600; }
.tick { white-space: nowrap; }
.tick::before { content: ""; display: inline-block; width: 3.6mm; height: 3.6mm; border: .35mm solid #000; margin-right: 1.3mm;
  vertical-align: -.6mm; }
table { border-collapse: collapse; width: 100%; }
th { text-align: left; font-size: 9.5pt; font-weight: 600; border: .25mm solid #000; padding: .2mm 1mm; }
td { border: .25mm solid #000; height: 7mm; }
.pair { flex: 1 1 40%; }
.list { font-size: 9.5pt; margin: .6mm 0 0; }
.foot { font-size: 9pt; margin: 0; }
.wide { overflow-x: auto; }
@media (max-width: 640px) {
  body { padding: 4mm; }
  .write { flex-basis: 100%; }
  .write i { min-width: 9mm !important; }
  .asked { grid-template-columns: 1fr; }
  table { table-layout: fixed; }
  th { font-size: 8pt; padding: .2mm .5mm; }
}
@media print { body { padding: 0; max-width: none; } }
"""


def page() -> str:
    """The page as HTML that needs nothing from outside and prints on one side of A4."""
    parts = (
        _head(),
        f'<p class="caution">{escape(GENERAL)}</p>',
        _machine(),
        _symptom(),
        _found(),
        _work(),
        _outcome(),
        _proof(),
        _money(),
        f'<p class="foot">{escape(_FOOT)}</p>',
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Job sheet</title><style>{_STYLE}</style></head>\n<body>\n"
        + "\n".join(parts)
        + "\n</body></html>\n"
    )


_FOOT = (
    "One sheet a visit. Machine and site by their numbers: no name, telephone number or address. Amounts without tax. "
    "What nobody knows stays empty. The boxes are the values of the standard log, so the sheet can be typed in word for word."
)


def _head() -> str:
    return f'<div class="row" style="align-items:flex-end"><h1>Job sheet</h1>{_write("Job no")}{_write("Visit", 12)}{_write("Technician")}</div>'


def _machine() -> str:
    first = "".join((_write("Reported on"), _write("Arrived", 32), _write("Finished", 32), _write("Site no")))
    second = "".join((_write("Kind of machine", 40), _write("Make"), _write("Model")))
    third = "".join((_write("Machine no"), _write("Serial", 40), _write("Age, years", 10)))
    return _section(
        "",
        f'<div class="row">{first}{second}{third}</div>'
        + _ticks("fitting", "Fitted")
        + _ticks("job_kind", "Job"),
    )


def _symptom() -> str:
    dangers = "".join(_tick(danger if danger != "gas" else "smell of gas") for danger in safety_words())
    return _section(
        "What the customer sees",
        f'<div class="row">{_write("Symptom", 90)}{_write("Fault code", 20)}</div>'
        f'<div class="ticks" style="margin-top:1.2mm"><b>Danger: make safe and stop</b>{dangers}</div>',
    )


def _found() -> str:
    checks = "".join(
        f'<div class="row">{_write("Check", 50)}<span class="ticks" style="align-self:flex-end">{_options("check_result")}</span>'
        f"{_write('Reading', 25)}{_write('min', 9)}</div>"
        for _ in range(CHECKS)
    )
    return _section(
        "",
        f'<div class="row">{_write("Found", 120)}</div>'
        + _ticks("mechanism", "How it failed")
        + _ticks("cause", "Why")
        + checks,
    )


def _work() -> str:
    header = ("Part number", "Part name", "Action", "Status", "Source", "Qty", "Cost")
    widths = (16, 23, 18, 17, 14, 5, 7)
    head = "".join(
        f'<th style="width:{width}%">{name}</th>' for name, width in zip(header, widths, strict=True)
    )
    lines = f"<tr>{'<td></td>' * len(header)}</tr>" * LINES_OF_WORK
    lists = "".join(
        f'<p class="list"><b>{name}:</b> {escape(" · ".join(standard_values(column)))}</p>'
        for name, column in (("Action", "action"), ("Status", "part_status"), ("Source", "part_source"))
    )
    return _section(
        "Work done, one line each", f'<div class="wide"><table><tr>{head}</tr>{lines}</table></div>{lists}'
    )


def _outcome() -> str:
    return _section("", _ticks("outcome", "Outcome") + _ticks("second_visit_reason", "Second visit, why"))


def _proof() -> str:
    asked = (
        ("installation_looked_at", "Installation looked at"),
        ("test_run", "Test run"),
        ("leak_check", "Leak check"),
        ("safety_test", "Safety test"),
    )
    boxes = "".join(f'<span class="pair">{_ticks(column, name)}</span>' for column, name in asked)
    return _section(
        "",
        f'<div class="row">{boxes}</div><div class="row">{_write("Advised, not done", 60)}{_write("Return of job no", 25)}</div>'
        + _ticks("return_reason", "Came back, why"),
    )


def _money() -> str:
    amounts = "".join(_write(name, 10) for name in ("Call-out", "Labour", "Parts", "Total"))
    minutes = _write("Minutes: machine", 9) + _write("travel", 9)
    return _section("", f'<div class="row">{minutes}{amounts}</div>' + _ticks("payer", "Who pays"))


def _section(name: str, content: str) -> str:
    heading = f"<h2>{escape(name)}</h2>" if name else ""
    return f"<section>{heading}{content}</section>"


def _write(name: str, width_mm: int = 20) -> str:
    """A name with a line to write on."""
    return f'<span class="write">{escape(name)} <i style="min-width:{width_mm}mm"></i></span>'


def _ticks(column: str, name: str) -> str:
    return f'<div class="asked"><b>{escape(name)}</b><span class="ticks">{_options(column)}</span></div>'


def _options(column: str) -> str:
    return "".join(_tick(value) for value in standard_values(column))


def _tick(value: str) -> str:
    return f'<span class="tick">{escape(value)}</span>'
