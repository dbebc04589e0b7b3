"""The store folder: what is in it, which build answers, and who may write."""

from __future__ import annotations

import fcntl
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb

from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.store import atomic, manifest
from pipeline.store.manifest import Manifest
from pipeline.store.opening import open_current

BUILD_NAME = re.compile(r"fleet-[0-9a-z-]{1,80}\.duckdb")


@dataclass(frozen=True)
class Store:
    """A store folder; see the design for what lies where."""

    folder: Path

    @property
    def received(self) -> Path:
        """Folder of everything received. It cannot be rebuilt from anything."""
        return self.folder / "received"

    @property
    def layouts(self) -> Path:
        """The shop's own layouts; they win over the ones that come with mendstat."""
        return self.folder / "layouts"

    @property
    def vocabulary(self) -> Path:
        """The shop's own words."""
        return self.folder / "vocabulary"

    @property
    def corrections(self) -> Path:
        """Mended cells of rows set aside. They cannot be rebuilt from anything either."""
        return self.folder / "corrections"

    @property
    def manifest_path(self) -> Path:
        """File that lists what was received."""
        return self.received / "manifest.json"

    @property
    def manifest(self) -> Manifest:
        """What was received."""
        return manifest.read(self.manifest_path)

    def create(self) -> None:
        """Make the folder and its received folder where they are missing."""
        try:
            self.received.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UnreadableError(
                f"The store {self.folder} could not be made: {error.strerror}. Name another folder with --store."
            ) from None

    @contextmanager
    def lock(self) -> Iterator[None]:
        """
        Be the one writer. Death lets go of the lock; nothing has to be cleaned up by hand.

        Raises
        ------
        UnreadableError
            If another load is running.
        """
        self.create()
        try:
            handle = os.open(self.folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise self._unwritable(error) from None
        try:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                raise UnreadableError(
                    f"Another load into the store {self.folder} is running. Wait until it has ended, then load again."
                ) from None
            try:
                yield
            except OSError as error:
                # Sources speak for themselves (UnreadableError); what is left is the store's own disk.
                raise self._unwritable(error) from error
        finally:
            os.close(handle)

    def _unwritable(self, error: OSError) -> UnreadableError:
        return UnreadableError(
            f"The store {self.folder} could not be written: {error.strerror or type(error).__name__}. "
            "What was loaded before still answers. Make room or ask for the right to write, then load again."
        )

    def current_build(self) -> Path | None:
        """The build that answers, or None before the first load."""
        try:
            name = (self.folder / "current").read_text(encoding="ascii").strip()
        except FileNotFoundError:
            return None
        except (OSError, UnicodeDecodeError):
            name = ""
        # The name is checked so that a tampered file cannot point out of the store.
        if not BUILD_NAME.fullmatch(name) or not (self.folder / name).exists():
            raise UnreadableError(
                f"{self.folder / 'current'} names no build of this store. Run `mendstat reread` to build it again."
            )
        return self.folder / name

    def switch(self, build: Path) -> None:
        """Let a finished build answer from now on."""
        atomic.write_text(self.folder / "current", build.name + "\n")

    def clear_leftovers(self) -> None:
        """Remove unfinished files and all builds but the current one. Needs the lock."""
        for folder in (self.folder, self.received, self.corrections, self.vocabulary, self.layouts):
            atomic.remove_unfinished(folder)
        for path in self.received.glob("*.parquet"):
            if path.name not in {entry.parquet for entry in self.manifest.files}:
                path.unlink()
        try:
            current = self.current_build()
        except UnreadableError:
            current = None
        for path in self.folder.glob("fleet-*"):
            if path != current:
                _remove(path)

    def connect(self) -> duckdb.DuckDBPyConnection:
        """
        Open the build that answers: to read only, with no way to any file or setting outside it.

        Raises
        ------
        CannotAnswerError
            If nothing was loaded yet.
        UnreadableError
            If the build cannot be opened.
        """
        build = self.current_build()
        if build is None:
            raise CannotAnswerError(
                f"Nothing is loaded in {self.folder} yet. Run `mendstat load FILE` first."
            )
        try:
            return open_current(build)
        except UnreadableError:
            # Between reading the name and opening the file two loads may have come and gone.
            newer = self.current_build()
            if newer is None or newer == build:
                raise
            return open_current(newer)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
