"""
How long the technician waits: from a tap to the last line drawn, 20 times, in a real browser. Run by hand, never timed as a test.

    python -m tests.benchmarks.at_the_machine STORE [--port 8950] [--taps 20]

Two rounds over the same taps: the first asks each for the first time on a server that has shown the page before and has
worked out ahead what it does (`dashboards.ahead`), the second again, over and over where the log has fewer. Prints how long
that took, then the middle and the 95th percentile of each, the server's processor time from an empty screen to the answer
(three taps or so), and the load of the machine: while others work on it, the clock says little and processor time more.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import time
import urllib.request
from contextlib import suppress
from itertools import cycle, islice
from pathlib import Path

import numpy as np
from playwright.sync_api import Page, sync_playwright
from playwright.sync_api import TimeoutError as NotInTime

from dashboards import serve
from pipeline.store.folder import Store

TAPS = 20
QUIET_MS = 700
RESTING_MS = 200  # of the processor in two seconds
WATCH = """
() => {
  window.lastChange = performance.now();
  new MutationObserver(() => { window.lastChange = performance.now(); }).observe(
    document.body, {childList: true, subtree: true, characterData: true});
  document.addEventListener('click', () => { window.tappedAt = performance.now(); }, true);
}
"""


def pairs(store: Path) -> list[tuple[str, str]]:
    """Kinds and symptoms in the order of how often they are seen, those that a tap reaches."""
    sql = """
    with counted as (
        select j.unit_type, s.symptom, count(*) as jobs
        from tables.job_symptoms as s join tables.jobs as j on j.job_no = s.job_no
        where j.is_fault and j.unit_type is not null group by all
    )
    select unit_type, symptom from counted
    qualify row_number() over (partition by unit_type order by jobs desc, symptom) <= 3 and jobs >= 30
    order by jobs desc
    """
    with Store(store).connect() as con:
        return [(str(kind), str(symptom)) for kind, symptom in con.execute(sql).fetchall()][:TAPS]


def tap(page: Page, kind: str, symptom: str) -> float:
    """Milliseconds from the tap on a symptom to the last change of the page."""
    page.get_by_role("textbox").first.fill("")
    page.get_by_role("textbox").first.press("Enter")
    settle(page)
    page.get_by_text("Seen most often").first.wait_for(timeout=60_000)
    # A kind that is chosen already must not be tapped again: that would take it back.
    asked = page.get_by_text(f"Seen most often on a {kind}")
    for _ in range(5):  # on a busy machine a tap may meet a row that is being drawn anew
        if asked.count():
            break
        page.get_by_test_id("stButtonGroup").first.get_by_text(kind, exact=True).click()
        with suppress(NotInTime):
            asked.wait_for(timeout=20_000)
        settle(page)
    page.get_by_test_id("stButtonGroup").nth(1).get_by_text(symptom, exact=True).first.click()
    settle(page)
    page.locator("ol.fixes li, .stop").first.wait_for(timeout=60_000)
    settle(page)
    return float(page.evaluate("window.lastChange - window.tappedAt"))


def settle(page: Page) -> None:
    """Wait until nothing has changed for a while and the server rests."""
    page.wait_for_function(
        f"performance.now() - window.lastChange > {QUIET_MS} && "
        "!!document.querySelector('[data-testid=stApp][data-test-script-state=notRunning]')",
        timeout=120_000,
    )


def main() -> None:
    """Serve, tap, print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("store", type=Path)
    parser.add_argument("--port", type=int, default=8950)
    parser.add_argument("--taps", type=int, default=TAPS)
    options = parser.parse_args()
    some = pairs(options.store)[: options.taps]
    server = subprocess.Popen(serve.command(options.port), env=serve.environment(options.store))
    try:
        wait_for(options.port)
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
            )
            page = browser.new_page(viewport={"width": 390, "height": 844})
            page.goto(f"http://127.0.0.1:{options.port}/at-the-machine")
            page.get_by_role("textbox").first.wait_for(timeout=120_000)
            page.evaluate(WATCH)
            settle(page)
            print(f"worked out ahead in {rest(server.pid):.0f} s of processor time", flush=True)
            tap(page, *some[0])  # the server has shown the page before
            again = list(islice(cycle(some), options.taps))
            for name, taps in (("asked for the first time", some), ("asked before", again)):
                before = processor_ms(server.pid)
                took = [tap(page, *each) for each in taps]
                middle, late = np.quantile(took, [0.5, 0.95])
                spent = (processor_ms(server.pid) - before) / len(took)
                print(
                    f"{name}: {len(took)} taps, middle {middle:.0f} ms, 95 in 100 within {late:.0f} ms; processor time of the "
                    f"server from an empty screen to the answer {spent:.0f} ms; load {os.getloadavg()[0]:.1f}",
                    flush=True,
                )
            browser.close()
    finally:
        server.terminate()


def rest(pid: int) -> float:
    """Wait until a process has nothing left to do; seconds of the processor it has taken by then."""
    now, before = processor_ms(pid), -1.0
    while now - before > RESTING_MS:
        time.sleep(2)
        now, before = processor_ms(pid), now
    return now / 1000


def processor_ms(pid: int) -> float:
    """Processor time that a process has taken so far, its threads and itself; not a number where the system does not tell."""
    path = Path(f"/proc/{pid}/stat")
    if not path.exists():
        return float("nan")
    # After the name in brackets, which may hold spaces: the 12th and 13th are ticks for itself and for the kernel (proc(5)).
    user, kernel = path.read_text().rpartition(")")[2].split()[11:13]
    return 1000.0 * (int(user) + int(kernel)) / os.sysconf("SC_CLK_TCK")


def wait_for(port: int) -> None:
    """Until the server answers."""
    for _ in range(300):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health").read()
        except OSError:
            time.sleep(0.3)
        else:
            return


if __name__ == "__main__":
    main()
