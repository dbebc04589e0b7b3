"""A real Chromium over a real server: what only a browser can show."""

import socket
import subprocess
import time
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from dashboards import serve
from dashboards.pages import PAGES

ROOT = Path(__file__).parents[2]
FAKE_APP = ROOT / "tests" / "fixtures" / "fake_app.py"
SIZES = {"desk": {"width": 1280, "height": 800}, "phone": {"width": 390, "height": 844}}


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_for(port):
    for _ in range(200):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health") as answer:
                assert answer.read() == b"ok"
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail("the server did not come up in 40 seconds")


@contextmanager
def serving(store, fake=None):
    """Address of the pages: over a store, or over a made-up fleet."""
    port = free_port()
    command, environment = serve.command(port), serve.environment(store)
    if fake:
        command[command.index(str(serve.APP))] = str(FAKE_APP)
        environment["FAKE_FLEET"] = fake
    running = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    try:
        wait_for(port)
        yield f"http://127.0.0.1:{port}"
    finally:
        running.terminate()
        running.wait(20)


@pytest.fixture(scope="session")
def full(tmp_path_factory):
    with serving(tmp_path_factory.mktemp("none"), "full") as address:
        yield address


@pytest.fixture(scope="session")
def refused(tmp_path_factory):
    with serving(tmp_path_factory.mktemp("none"), "refused") as address:
        yield address


@pytest.fixture(scope="session")
def empty(tmp_path_factory):
    """The pages as they are, over a folder in which nothing was loaded."""
    with serving(tmp_path_factory.mktemp("nothing-loaded")) as address:
        yield address


@pytest.fixture(scope="session")
def sample(sample_store):
    """The pages as they are, over the invented firm's log."""
    with serving(sample_store) as address:
        yield address


@dataclass
class Seen:
    """A page in the browser, and what it asked for and complained about."""

    page: object
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def outside(self):
        own = ("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:")
        return [address for address in self.requests if not address.startswith(own)]


@pytest.fixture
def look_at(chromium):
    contexts = []

    def open_page(address, size="desk", menu=None):
        context = chromium.new_context(viewport=SIZES[size], locale="en-GB")
        contexts.append(context)
        page = context.new_page()
        seen = Seen(page)
        page.on("request", lambda request: seen.requests.append(request.url))
        page.on("websocket", lambda socket: seen.requests.append(socket.url))
        page.on(
            "console",
            lambda said: seen.complaints.append(said.text) if said.type in ("error", "warning") else None,
        )
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        page.goto(address)
        page.locator("h1").first.wait_for(timeout=40_000)
        if menu:
            go_to(seen, address, menu, size)
        settle(page)
        return seen

    yield open_page
    for context in contexts:
        context.close()


def go_to(seen, address, title, size):
    """By the menu; to a page that is not in it, by its address."""
    page = seen.page
    found = next(found for found in PAGES if found.title == title)
    if not found.is_in_menu:
        page.goto(f"{address}/{found.path}")
        page.locator("h1", has_text=title).wait_for(timeout=40_000)
        # Streamlit first looks for its server below the address of the page, and finds it one step up.
        seen.complaints[:] = [said for said in seen.complaints if "404" not in said]
        return
    if size == "phone":
        page.get_by_test_id("stExpandSidebarButton").click()
    page.get_by_role("link", name=title, exact=True).click()
    page.locator("h1", has_text=title).wait_for(timeout=20_000)
    if size == "phone":
        page.wait_for_timeout(500)


def settle(page):
    """Wait until the run has ended, everything it sent is on the page, and every chart in sight is drawn."""
    page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for(timeout=30_000)
    page.wait_for_function(
        """() => {
            // A part whose script is still on its way shows a placeholder, however long nothing changes.
            if (document.querySelector('[data-testid=stSkeleton], [data-testid=stAppSkeleton]')) return false;
            const now = document.querySelectorAll('[data-testid=stMain] *').length;
            const same = now === window.lastSeen ? (window.timesSeen || 0) + 1 : 0;
            [window.lastSeen, window.timesSeen] = [now, same];
            return same >= 2;
        }""",
        polling=120,
        timeout=30_000,
    )
    for chart in page.get_by_test_id("stVegaLiteChart").all():
        if chart.is_visible():
            chart.locator("svg").first.wait_for(timeout=30_000)
