"""A word is settled on the page with the keyboard alone, in a real browser, and the next build uses it."""

import pytest

from pipeline.load import load
from pipeline.store.folder import Store
from tests.browser.conftest import serving

pytestmark = pytest.mark.browser

HEADER = "job_id,unit_id,unit_type,reported_at,finished_at,symptom,action,outcome"
LOG = f"{HEADER}\n" + "".join(
    f"J{n},M-{n},washer,2024-01-{n:02},2024-01-{n:02},wont pump water away,clean,fixed\n" for n in range(1, 8)
)


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_a_word_is_settled_by_keyboard(tmp_path, monkeypatch, look_at, size):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    store = tmp_path / "store"
    (tmp_path / "log.csv").write_text(LOG)
    load(store, [tmp_path / "log.csv"], key_path=tmp_path / "key")
    with serving(store) as address:
        page = look_at(f"{address}/words-to-settle", size).page
        page.get_by_text("1 word or phrase has no settled meaning").wait_for(timeout=60_000)
        assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
        page.get_by_role("radio", name="not draining").focus()
        page.keyboard.press("Space")
        page.get_by_role("button", name="Keep 1 answer and build again").focus()
        page.keyboard.press("Enter")
        page.get_by_text("Every word of the log has a settled meaning.").wait_for(timeout=120_000)
        page.get_by_text("1 word is settled").wait_for(timeout=20_000)
    with Store(store).connect() as con:
        assert con.execute("select distinct symptom from tables.jobs").fetchall() == [("not draining",)]
