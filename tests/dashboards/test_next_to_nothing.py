"""Logs that leave next to nothing to go on: every figure by everything it offers, and every page, gives numbers or sentences."""

import math
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "fixtures"))

from hostile_logs import LISTED, LOGS, MACHINES, as_csv

from dashboards import STORE_VARIABLE
from dashboards.pages import PAGES
from pipeline.errors import MendstatError
from pipeline.load import load
from pipeline.measures import MEASURES, Question, evaluate
from pipeline.measures.groups import JOB_COLUMNS, VISIT_COLUMNS, WORK_COLUMNS
from pipeline.measures.words import headline_words
from pipeline.store.folder import Store

GROUPS = [(), *((name,) for name in (*JOB_COLUMNS, *WORK_COLUMNS, *VISIT_COLUMNS, "month", "age_band"))]
# Figures that have several populations or clocks; and those that are asked once, as a page does.
CHOICES = {
    "part-failure-rate": [{}, {"basis": "machines-seen"}, {"basis": "shares"}],
    "repeat-visits": [{"kind": "same-fault"}],
    "time-to-fix": [{"clock": clock} for clock in ("hands-on", "restored", "visits")],
}
BY_ITSELF = {
    "procedures",
    "technicians",
    "changes",
    "clean-or-replace",
    "fix-payoff",
    "outside-causes",
    "safety-reports",
}
# As a word of its own; "None: …" begins a sentence, and SQL in the workings has its own "null".
NO_NUMBER = re.compile(r"(?<![\w.'’-])(?:nan|NaN|-?inf|Infinity|None)(?![\w'’:-])")


@pytest.fixture(scope="module", params=LOGS)
def store(request, tmp_path_factory):
    name = request.param
    folder = tmp_path_factory.mktemp("hostile")
    (folder / "log.csv").write_text(as_csv(LOGS[name]))
    (folder / "machines.csv").write_text(MACHINES)
    lists = {"machines": folder / "machines.csv"} if name in LISTED else {}
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key", **lists)
    return folder / "store"


def answered(con, measure):
    """What a figure says by everything it offers: a frame, or the sentence that refuses."""
    for choice in CHOICES.get(measure, [{}]):
        for by in GROUPS[:1] if measure in BY_ITSELF else GROUPS:
            question = Question(by=by, people=True, hour_costs=35.0, customer_day=40.0, **choice)
            try:
                yield by, evaluate(con, measure, question)
            except MendstatError as refusal:
                yield by, str(refusal)


@pytest.mark.parametrize("measure", sorted(MEASURES))
def test_every_figure_by_everything_it_offers_gives_numbers(store, measure):
    with Store(store).connect() as con:
        for by, frame in answered(con, measure):
            if isinstance(frame, str):
                assert not NO_NUMBER.search(frame)
                continue
            for row in frame.iter_rows(named=True):
                told = (by, row)
                assert not any(
                    isinstance(cell, float) and not math.isfinite(cell) for cell in row.values()
                ), told
                assert (row["value"] is None) == (row["sample"] == "too few"), told
                if row["value"] is not None:
                    assert row["low"] is None or row["low"] <= row["value"] + 1e-12, told
                    assert row["high"] is None or row["value"] <= row["high"] + 1e-12, told
            for text in (frame.write_csv(), headline_words(measure, frame)):
                assert not NO_NUMBER.search(text), by


def said(at):
    """What a page says, charts with their numbers included."""
    kinds = ("title", "header", "subheader", "markdown", "caption", "expander", "selectbox", "radio")
    for kind in kinds:
        yield from (f"{getattr(each, 'label', '')} {getattr(each, 'value', '')}" for each in at.get(kind))
    yield from (re.sub(r"<style.*?</style>", "", each.proto.body, flags=re.DOTALL) for each in at.get("html"))
    for chart in at.get("vega_lite_chart"):
        yield chart.proto.alt
        yield re.sub(r"\bNone\b", "", chart.proto.spec)


@pytest.mark.parametrize("path", [each.path for each in PAGES])
def test_every_page_gives_numbers_or_sentences(store, page, monkeypatch, path):
    monkeypatch.setenv(STORE_VARIABLE, str(store))
    at = page(path)
    assert not at.exception
    for text in said(at):
        found = NO_NUMBER.search(text)
        assert not found, text[max(0, found.start() - 80) : found.end() + 80]
