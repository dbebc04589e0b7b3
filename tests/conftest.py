"""What many tests share: the sample log loaded once, in a store of its own."""

import os
import shutil

import pytest
from hypothesis import settings

LONG = ("full", "study")
# Nothing of its own may go out, or the log of what a page asks for would hold it.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(config, items):
    """The long runs are left out unless they are asked for with -m."""
    wanted = [name for name in LONG if name in config.getoption("markexpr")]
    long = [item for item in items if any(item.get_closest_marker(name) for name in LONG) and not wanted]
    if long:
        config.hook.pytest_deselected(items=long)
        items[:] = [item for item in items if item not in set(long)]


# How long an example takes says more about the machine's other work than about ours.
settings.register_profile("mendstat", deadline=None)
settings.load_profile("mendstat")


@pytest.fixture(scope="session")
def sample_store(tmp_path_factory):
    """A store that holds the invented firm's log and lists."""
    from pipeline.load import load
    from sample_logs import standard_files

    folder = tmp_path_factory.mktemp("sample")
    files = standard_files()
    lists = {kind: path for kind, path in files.items() if kind != "log"}
    load(folder / "store", [files["log"]], **lists, key_path=folder / "key")
    return folder / "store"


@pytest.fixture(scope="session")
def sample(sample_store):
    """A connection to the sample's build."""
    from pipeline.store.folder import Store

    with Store(sample_store).connect() as con:
        yield con


@pytest.fixture(scope="session")
def warm():
    """A warm process that runs commands of mendstat and kills them on demand."""
    from tests.faults.dying import dying

    with dying() as child:
        yield child


@pytest.fixture(scope="session")
def chromium():
    path = shutil.which("chromium")
    if path is None and os.environ.get("MENDSTAT_BROWSER_REQUIRED"):
        pytest.fail("there is no chromium on the path, and here the browser tests are not to be skipped")
    if path is None:
        pytest.skip("there is no chromium on the path")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield browser
        browser.close()
