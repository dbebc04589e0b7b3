"""Pages on a made-up fleet; importing the fixtures folder by path, as the tests are no package."""

import sys
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests" / "fixtures"))

from fake_fleet import FakeFleet  # noqa: E402

from dashboards import data  # noqa: E402


@pytest.fixture
def fleet(monkeypatch):
    made_up = FakeFleet()
    monkeypatch.setattr(data, "open_fleet", lambda: made_up)
    return made_up


@pytest.fixture
def no_log(monkeypatch):
    monkeypatch.setattr(data, "open_fleet", lambda: None)


@pytest.fixture
def first_page():
    return lambda: AppTest.from_file(ROOT / "dashboards" / "entry" / "start.py", default_timeout=60).run()


@pytest.fixture
def page():
    def run(path: str) -> AppTest:
        def script(wanted: str) -> None:
            from dashboards.pages import PAGES

            next(found for found in PAGES if found.path == wanted).render()

        return AppTest.from_function(script, args=(path,), default_timeout=60).run()

    return run
