"""Take files in, build again, account for every row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from pipeline import questions
from pipeline.build import build, is_current
from pipeline.errors import CannotAnswerError
from pipeline.intake.block import BLOCK_BYTES
from pipeline.intake.layout_files import known_layouts
from pipeline.intake.layouts import Completes, Layout
from pipeline.intake.source import Source
from pipeline.intake.taking_in import LoadedFile, Plan, TakingIn
from pipeline.log_check import log_check
from pipeline.settings import load_settings
from pipeline.store import key as keys
from pipeline.store import manifest as manifests
from pipeline.store.folder import Store
from pipeline.store.manifest import Manifest

__all__ = ["LoadReport", "load", "log_check", "reread"]

Progress = Callable[[str], None]


@dataclass(frozen=True)
class LoadReport:
    """What a load did."""

    files: tuple[LoadedFile, ...]
    was_built: bool
    left_out: tuple[str, ...] = ()  # sheets that were not taken in, a sentence for each workbook

    def text(self) -> str:
        """Lines for the user."""
        lines = [*(file.text() for file in self.files), *self.left_out]
        if self.was_built:
            lines.append("Everything is built.")
        return "\n".join(lines)


def load(
    store_path: Path,
    files: Sequence[Path | Source],
    *,
    layout: str | None = None,
    machines: Path | None = None,
    parts: Path | None = None,
    stock: Path | None = None,
    notices: Path | None = None,
    key_path: Path | None = None,
    progress: Progress | None = None,
    block_bytes: int = BLOCK_BYTES,
) -> LoadReport:
    """
    Take files into a store, all or none, and build it again.

    Parameters
    ----------
    store_path : Path
        The store; made if it is missing.
    files : sequence of Path or Source
        Logs, or lists that are recognised as such.
    layout : str or None
        Name of the layout to read them by, where it is not to be recognised.
    machines, parts, stock, notices : Path or None
        Lists; of each kind the newest load counts.
    key_path : Path or None
        The key file; the default lies in the user's configuration folder.
    progress : callable or None
        Told what is being done.
    block_bytes : int
        How much of a file is held in memory at a time; nothing depends on it.

    Raises
    ------
    UnreadableError
        If a file, the key or the store cannot be used, or another load is running.
    CannotAnswerError
        If a file fits no known layout or several, or a question about it must be settled first.
    WrongUseError
        If the layout asked for is unknown or does not fit.
    """
    say = progress or _silent
    store = Store(store_path)
    lists = {"machines": machines, "parts": parts, "stock": stock, "notices": notices}
    wanted: list[tuple[Source, str | None]] = [(_source(file), None) for file in files]
    wanted += [(Source(Path(path)), kind) for kind, path in lists.items() if path is not None]
    with store.lock():
        store.clear_leftovers()
        settings = load_settings(store.folder)
        layouts = known_layouts(store.layouts)
        received = store.manifest
        key = keys.key_for(received.key_check, key_path or keys.default_path())
        taking = TakingIn(store, key, received, say, block_bytes)
        # All files are looked at before the first is read: a question about the last must not cost an hour.
        plans = [plan for source, kind in wanted for plan in taking.look_at(source, layouts, kind, layout)]
        reported = _received(store, taking, plans)
        if taking.entries:
            _ask(store, plans, taking, layout)
            changed = replace(received.with_files(taking.entries), key_check=key.check)
            used = {plan.layout.hash: _reading_rules(plan.layout) for plan in plans}
            received = replace(changed, layouts={**received.layouts, **used})
            manifests.write(received, store.manifest_path)
        # Also where nothing is new: an earlier load may have died between its manifest and its build.
        must_build = not is_current(store, received) and bool(received.active)
        if must_build:
            build(store, settings, layouts_of(received, layouts), say)
        return LoadReport(tuple(reported), must_build, tuple(taking.left_out))


def _received(store: Store, taking: TakingIn, plans: Sequence[Plan]) -> list[LoadedFile]:
    """Keep the rows of all files; of a load in which one is refused nothing is kept."""
    try:
        return [taking.receive(plan) for plan in plans]
    except CannotAnswerError:
        store.clear_leftovers()
        raise


def _ask(store: Store, plans: Sequence[Plan], taking: TakingIn, named: str | None) -> None:
    """Ask what is open about the new files; of a load that asks nothing is kept."""
    try:
        questions.ask(store, plans, taking.entries, named)
    except CannotAnswerError:
        store.clear_leftovers()
        raise


def reread(store_path: Path, *, engine_name: str = "duckdb", progress: Progress | None = None) -> None:
    """
    Build everything again from what was received; needs no key.

    `engine_name` says what makes tables and facts: duckdb or spark.

    Raises
    ------
    CannotAnswerError
        If nothing was ever received.
    """
    store = Store(store_path)
    if not store.manifest.active:
        raise CannotAnswerError(f"Nothing is loaded in {store_path} yet. Run `mendstat load FILE` first.")
    with store.lock():
        build_again(store, progress or _silent, engine_name)


def build_again(store: Store, say: Progress, engine_name: str = "duckdb") -> None:
    """Build everything again; the caller holds the store's lock."""
    store.clear_leftovers()
    layouts = layouts_of(store.manifest, known_layouts(store.layouts))
    build(store, load_settings(store.folder), layouts, say, engine_name)


def _reading_rules(layout: Layout) -> dict[str, Any]:
    """What a build needs of a layout, kept beside the rows so that `received` can be read without the layout file."""
    return {
        "name": layout.name,
        "kind": layout.kind,
        "values": {column: dict(words) for column, words in layout.values.items()},
        "time_zone": layout.time_zone,
        "lines_may_repeat": layout.lines_may_repeat,
        "not_recorded": list(layout.not_recorded),
        "forms": dict(layout.forms),
        "split": list(layout.split),
        "completes": asdict(layout.completes) if layout.completes else None,
    }


def _as_it_was(rules: dict[str, Any]) -> Layout:
    """What `_reading_rules` kept, as a layout; a store of an earlier version kept less."""
    completes = rules.get("completes")
    return Layout(
        describes="",
        columns={},
        **{
            **rules,
            "not_recorded": tuple(rules.get("not_recorded", ())),
            "split": tuple(rules.get("split", ())),
            "completes": Completes(completes["layout"], tuple(completes["by"])) if completes else None,
        },
    )


def layouts_of(received: Manifest, layouts: dict[str, Layout]) -> dict[str, Layout]:
    """Layouts of everything received: as their files are today, or as they were where a file is gone."""
    kept = {}
    for entry in received.active:
        rules = received.layouts.get(entry.layout_hash)
        if rules is not None:
            kept[entry.layout] = _as_it_was(rules)
    return {**kept, **layouts}


def _source(file: Path | Source) -> Source:
    return file if isinstance(file, Source) else Source(Path(file))


def _silent(_text: str) -> None:
    pass
