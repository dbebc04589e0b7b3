"""What the server sends to a browser over an attacked store: every frame, every answer, every file taken along."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass, field

import pytest

from dashboards import serve
from dashboards.pages import PAGES
from tests.browser.conftest import free_port, wait_for
from tests.privacy.searching import SHORTEST_IN_BYTES, marks_found

pytestmark = pytest.mark.browser
PATIENCE = 180_000  # milliseconds; a busy machine is no failure
OWN = ("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:")


@dataclass
class Line:
    """All that came over the line, and all that was asked for."""

    frames: list[bytes] = field(default_factory=list)
    answers: list[bytes] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    shown: list[str] = field(default_factory=list)

    def bytes_sent(self) -> list[str]:
        return [piece.decode("utf-8", "ignore") for piece in (*self.frames, *self.answers)]


def test_no_byte_that_is_served_tells_anybody_and_no_other_machine_is_asked(attack, chromium, tmp_path):
    port = free_port()
    told = tmp_path / "told"
    environment = {**serve.environment(attack.store), **attack.environment()}
    environment["PYTHONPATH"] = serve.environment(attack.store)["PYTHONPATH"]
    with told.open("wb") as out:
        running = subprocess.Popen(
            serve.command(port), env=environment, cwd=attack.written / "work", stdout=out, stderr=out
        )
    try:
        wait_for(port)
        line, files = visit(chromium, f"http://127.0.0.1:{port}", attack.loads[0].files[0])
    finally:
        running.terminate()
        running.wait(20)
    assert len(line.frames) > 3 * len(PAGES)
    assert files
    assert [address for address in line.asked if not address.startswith(OWN)] == []
    assert marks_found(line.shown, attack.marks) == set()
    # In packed bytes a short mark is found by chance.
    long = {mark for mark in attack.marks if len(mark) >= SHORTEST_IN_BYTES}
    assert marks_found(line.bytes_sent(), long) == set()
    assert marks_found(files, attack.marks) == set()
    assert marks_found(told.read_text("utf-8", "replace").splitlines(), attack.marks) == set()
    attack.assert_nothing_is_told()


def visit(browser, address, given) -> tuple[Line, list[str]]:
    """Open every page, open every fold, take every kind of file along, and give the page a file."""
    line, files = Line(), []
    page = browser.new_context(accept_downloads=True).new_page()
    page.set_default_timeout(PATIENCE)
    page.on("request", lambda request: line.asked.append(request.url))
    page.on("response", lambda answer: keep_body(line, answer))
    page.on("websocket", lambda socket: listen(line, socket))
    for each in PAGES:
        page.goto(f"{address}/{each.path}")
        page.locator("h1").first.wait_for()
        has_ended(page)
        line.shown += page.locator("body").inner_text().splitlines()
        if each.path == "a-new-file":
            continue
        for name in ("CSV", "SVG"):
            there = page.get_by_role("button", name=name, exact=True).all()
            # Those in a closed fold cannot be pressed.
            for button in [
                each for each in there if each.evaluate("e => !e.closest('[inert]') && !e.disabled")
            ][:1]:
                with page.expect_download() as download:
                    button.click()
                files += download.value.path().read_text("utf-8").splitlines()
    # A file whose name is the user's own; the page says what it found in it.
    page.goto(f"{address}/a-new-file")
    page.get_by_test_id("stFileUploader").wait_for()
    page.set_input_files(
        "input[type=file]", {"name": "given.csv", "mimeType": "text/csv", "buffer": given.read_bytes()}
    )
    page.get_by_text("given.csv").first.wait_for()
    has_ended(page)
    line.shown += page.locator("body").inner_text().splitlines()
    page.context.close()
    return line, files


def has_ended(page) -> None:
    """Wait until a page has said all; it is no matter here how long that takes."""
    page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()
    page.wait_for_timeout(400)


def listen(line: Line, socket) -> None:
    line.asked.append(socket.url)
    socket.on(
        "framereceived", lambda sent: line.frames.append(sent if isinstance(sent, bytes) else sent.encode())
    )


def keep_body(line: Line, answer) -> None:
    """What the server made itself; the scripts of its pages are the same for everybody."""
    if "/static/" not in answer.url and answer.request.method == "GET" and answer.ok:
        try:
            line.answers.append(answer.body())
        except Exception:  # noqa: BLE001 -- a page that was left drops what was under way
            return
