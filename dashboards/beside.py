"""Work that is done while the pages go on answering: a thread that stops between two steps when the program ends."""

from __future__ import annotations

import atexit
import threading
from collections.abc import Iterator
from contextlib import suppress

_ending = threading.Event()


class Work:
    """
    Steps done one after the other, beside everything else.

    A step that fails in one of the ways told ends the work in silence: whoever asks a page for the same is told by the page.
    """

    def __init__(self, name: str, steps: Iterator[None], may_fail: tuple[type[Exception], ...]) -> None:
        self._steps, self._may_fail = steps, may_fail
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()
        # The interpreter must not go away under a query: it waits for the step that is being done.
        atexit.register(self._end)

    def wait(self, seconds: float) -> bool:
        """Wait until all is done, or so long; whether it is."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _run(self) -> None:
        with suppress(*self._may_fail):
            for _ in self._steps:
                if _ending.is_set():
                    return

    def _end(self) -> None:
        _ending.set()
        self._thread.join()
