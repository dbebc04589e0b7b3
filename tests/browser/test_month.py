"""The monthly summary as a browser prints it: one side of A4, whatever the log holds."""

import dataclasses
import re
from datetime import date

import pytest

from pipeline.estimators.usual_range import Usual
from pipeline.summary.counts import Count
from pipeline.summary.page import page
from pipeline.summary.period import Period
from pipeline.summary.summing import Summary, Work

pytestmark = pytest.mark.browser

LONG = "control board with display and wiring loom, left side"
KIND = "combined washer and dryer"
FIX = {"part_no": "XXXX-123456-A", "part_name": LONG, "action": "clear blockage"}
BACK = {
    **FIX, "reported_on": date(2026, 2, 28), "job_id": "2026-000123456", "unit_type": KIND, "days": 88,
    "symptom": "does not drain, stands still and shows a code", "bill": "a maker's or an insurer's", "hours": 1.5, "cost": 99.0,
    "currency": "EUR",
}  # fmt: skip
DANGER = {
    "reported_on": date(2026, 2, 26), "job_id": "2026-000123456", "unit_type": KIND, "danger": "burning smell; smoke; shock",
    "is_soon_after_own_visit": True,
}  # fmt: skip
WAITS = {**FIX, "job_id": "2026-000123456", "unit_type": KIND, "days": 188, "count_parts": 4}
SHARE = {"value": 0.7, "low": 0.6, "high": 0.8, "denominator": 90, "sample": "rough", "unit": "share of jobs"}
WORSE = {**FIX, "unit_type": KIND, "observed": 157, "expected": 20.0, "jobs": 1590, "days": 90}
EARN = {**FIX, "currency": "EUR", "jobs": 1590}
FULL = Summary(
    period=Period(date(2026, 2, 1), date(2026, 3, 1), "February 2026"),
    work=Work(12_345, 9_876, 15_000, 1_234, (("EUR", 1_234_567.0), ("GBP", 765_432.0)), ((KIND, 9_999),) * 5),
    new_jobs=12_345,
    danger=(DANGER,) * 30,
    notices=12,
    comebacks=Count(1_234, 12_345, Usual(0.1, 1_000, 1_300)),
    back=(BACK,) * 1_234,
    in_vain=Count(321, 15_000, Usual(0.02, 250, 400)),
    waiting=(WAITS,) * 99,
    first_visits=SHARE,
    unpaid={**SHARE, "unit": "hours per 100 jobs", "value": 70.0, "low": 60.0, "high": 80.0},
    worse=(WORSE,),
    earning=(
        {**EARN, "value": 117.0, "low": 105.0, "high": 132.0},
        {**EARN, "value": 20.0, "low": 15.0, "high": 25.0},
        {**EARN, "value": 21.0, "low": 15.0, "high": 26.0},
    ),
    hour_costs=35.0,
)
EMPTY = dataclasses.replace(
    FULL, danger=(), notices=0, back=(), comebacks=Count(0, 0, None), in_vain=Count(0, 0, None), waiting=(),
    first_visits=None, unpaid=None, worse=(), earning=(), work=Work(0, 0, 0, 0, (), ()),
)  # fmt: skip


@pytest.fixture(params=[FULL, EMPTY], ids=["full", "empty"])
def opened(chromium, request):
    shown = chromium.new_page(viewport={"width": 794, "height": 1123})
    asked = []
    shown.on("request", lambda request: asked.append(request.url))
    shown.set_content(page(request.param))
    shown.asked = asked
    yield shown
    shown.close()


def test_month_prints_on_one_side_of_a4_and_asks_nothing(opened):
    printed = opened.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1
    assert re.search(rb"/MediaBox\s*\[0 0 59[456](?:\.\d+)? 84[12](?:\.\d+)?\]", printed)
    assert [url for url in opened.asked if not url.startswith("about:")] == []


def test_month_can_be_read_on_a_phone(opened):
    opened.set_viewport_size({"width": 390, "height": 844})
    assert opened.evaluate("document.documentElement.scrollWidth") == 390
