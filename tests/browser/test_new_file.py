"""A file is given to the page “A new file”, looked at and loaded, in a real browser."""

import pytest

from pipeline.store.folder import Store
from tests.browser.conftest import serving

pytestmark = pytest.mark.browser

ROWS = "Ref;Gerät;Gemeldet am;Fertig am;Telefon;Ergebnis\n" + "".join(
    f"A{n};washer;{n + 9}/04/2026;{n + 10}/04/2026;01632 96012{n};fixed\n" for n in range(1, 8)
)


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_a_file_given_to_the_page_is_shown_and_loaded(tmp_path, monkeypatch, look_at, size):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    store = tmp_path / "store"
    with serving(store) as address:
        seen = look_at(f"{address}/a-new-file", size)
        given = {"name": "jobs.csv", "mimeType": "text/csv", "buffer": ROWS.encode("cp1252")}
        seen.page.locator("input[type=file]").set_input_files(given)
        seen.page.get_by_text("How would its rows be read?").wait_for(timeout=60_000)
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= seen.page.viewport_size["width"]
        assert "01632" not in seen.page.inner_text("body")
        seen.page.get_by_role("button", name="Write the layout and load the file").click()
        seen.page.get_by_text("Everything is built").wait_for(timeout=90_000)
        assert seen.outside() == []
    with Store(store).connect() as con:
        assert con.execute("select count(*) from tables.visits").fetchone() == (7,)
