"""How long each check takes: as the log records it often enough, else as the editable table has it, the shop's own entries first."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from pipeline.errors import UnreadableError
from pipeline.vocabulary import CHECK_MINUTES, normal_form, vocabulary
from pipeline.vocabulary.recorded_minutes import Recorded

ASSUMPTION, SHOP = "assumption", "the shop's own"
INSTALLATION = "installation"


@dataclass(frozen=True)
class CheckEntry:
    """
    One check of the table.

    Attributes
    ----------
    check : str
        What to find out.
    minutes : float
        Without taking panels off.
    finds : float
        That it finds its fault where it is there, 0 … 1.
    behind : str
        The innermost panel before it; empty where none is.
    running : bool
        Whether the machine runs, closed, while it is made; such checks come after the dead ones.
    source : str
        ASSUMPTION, SHOP, or how many checks of the log.
    written : tuple of str
        How a log writes this check.
    from_log : bool
        Whether minutes in the log win over these.
    recorded : Recorded or None
        The log's, where `minutes` are their median.
    """

    check: str
    minutes: float
    finds: float
    behind: str = ""
    running: bool = False
    source: str = ASSUMPTION
    written: tuple[str, ...] = ()
    from_log: bool = True
    recorded: Recorded | None = None


@dataclass(frozen=True)
class Panel:
    """Minutes to take it off, and the panel it stands behind; empty where none."""

    minutes: float
    behind: str = ""


@dataclass(frozen=True)
class CheckTable:
    """
    Checks by part, panels by name, what licensed people look at; `fitting` settles checks that find no more than it says.

    `recorded` has minutes of the log by kind of machine ("" for all) and part, or INSTALLATION; see `measures/timed_checks.py`.
    """

    panels: Mapping[str, Panel]
    installation: CheckEntry
    parts: Mapping[str, CheckEntry]
    other: CheckEntry
    fitting: CheckEntry
    licensed_parts: frozenset[str]
    licensed_kinds: frozenset[str]
    part_words: Any  # the vocabulary of part names
    recorded: Mapping[tuple[str, str], Recorded] = field(default_factory=dict)

    @property
    def written(self) -> dict[str, str]:
        """What the words of a check are about, in normal form: a part as the vocabulary names it, or INSTALLATION."""
        entries = [(INSTALLATION, self.installation), *self.parts.items()]
        return {
            normal_form(words): self.known_name(name.rpartition(": ")[2])
            for name, entry in entries
            for words in (entry.check, *entry.written)
        }

    def known_name(self, part: str) -> str:
        """A part's name as the vocabulary has it, else in normal form."""
        form = normal_form(part)
        return self.part_words.meaning(form) or form

    def shared(self, least_jobs: int) -> CheckTable:
        """The table for what leaves the firm: minutes of the log only from so many jobs, to the minute, and no count."""
        shown = {key: found.shared() for key, found in self.recorded.items() if found.jobs >= least_jobs}
        return replace(self, recorded=shown)

    def look(self, kind: str = "") -> CheckEntry:
        """The look at the installation of a kind of machine."""
        return self._timed(self.installation, INSTALLATION, kind)

    def way_to(self, panel: str) -> tuple[str, ...]:
        """Panels to take off, from the outside to the inside."""
        way: list[str] = []
        while panel and panel not in way:
            way.append(panel)
            panel = self.panels[panel].behind
        return tuple(reversed(way))

    def of_part(self, name: str, kind: str = "") -> CheckEntry | None:
        """The check of a part by its name; None where licensed people look at it."""
        form, known = normal_form(name), self.known_name(name)
        if self._is_licensed(form, known, kind):
            return None
        for key in (f"{normal_form(kind)}: {form}", f"{normal_form(kind)}: {known}", form, known):
            if key in self.parts:
                return self._timed(self.parts[key], known, kind)
        entry = replace(self.other, check=self.other.check.replace("{part}", name), running=False)
        return self._timed(entry, known, kind)

    def _timed(self, entry: CheckEntry, known: str, kind: str) -> CheckEntry:
        """The entry with the minutes of the log, of this kind of machine before those of all, where they are enough."""
        for where in (normal_form(kind), "") if entry.from_log else ():
            found = self.recorded.get((where, known))
            if found is not None and found.is_enough:
                source = found.source
                if kind and not where:
                    source += ", all kinds of machine"
                return replace(entry, minutes=found.median, source=source, recorded=found)
        return entry

    def _is_licensed(self, form: str, known: str, kind: str) -> bool:
        if any(word in normal_form(kind) for word in self.licensed_kinds):
            return True
        return any(word in name for word in self.licensed_parts for name in (form, known))


def check_table(folder: Path | None = None) -> CheckTable:
    """
    The table, the shop's own entries laid over it.

    Raises
    ------
    UnreadableError
        If the shop's file is no TOML or an entry of it is not of the form described in `check_minutes.toml`.
    """
    content = {name: dict(part) for name, part in _starter().items()}
    own = _own(folder / f"{CHECK_MINUTES}.toml") if folder else {}
    where = str(folder / f"{CHECK_MINUTES}.toml") if folder else CHECK_MINUTES
    for name in ("panels", "licensed"):
        content[name] |= own.get(name, {})
    entry = {
        name: _laid_over(content[name], own.get(name, {})) for name in ("installation", "other", "fitting")
    }
    parts = dict(content["parts"])
    for name, lines in own.get("parts", {}).items():
        parts[normal_form(name)] = _laid_over(parts.get(normal_form(name), entry["other"]), lines)
    panels = _panels(where, content["panels"])
    return CheckTable(
        panels=panels,
        installation=_entry(where, "installation", entry["installation"], panels),
        parts={name: _entry(where, f"parts.{name}", lines, panels) for name, lines in parts.items()},
        other=_entry(where, "other", entry["other"], panels),
        fitting=_entry(where, "fitting", entry["fitting"], panels),
        licensed_parts=frozenset(map(normal_form, content["licensed"]["parts"])),
        licensed_kinds=frozenset(map(normal_form, content["licensed"]["kinds"])),
        part_words=vocabulary(folder)["part_name"],
    )


def _laid_over(base: dict[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """The shop's lines over those of an entry; what it does not give stays, and its words stand beside those there."""
    said = {**base, **own}
    words = [base.get("written", []), own.get("written", [])]
    if all(isinstance(each, list) for each in words):
        said["written"] = [*words[0], *words[1]]
    return said | ({"source": SHOP} if "minutes" in own else {})


@cache
def _starter() -> Mapping[str, Any]:
    text = (
        resources.files("pipeline.vocabulary").joinpath(f"{CHECK_MINUTES}.toml").read_text(encoding="utf-8")
    )
    return tomllib.loads(text)


def _own(path: Path) -> dict[str, Any]:
    if not path.exists():
        return {}
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise UnreadableError(f"{path} could not be read: {error}. Mend or remove it.") from None


def _panels(where: str, lines: Mapping[str, Any]) -> dict[str, Panel]:
    """Each stands behind one that is there, and none behind itself."""
    panels = {}
    for name, line in lines.items():
        if not isinstance(line, dict):
            raise UnreadableError(
                f'{where}: panels."{name}" must be written {{ minutes = 4, behind = "…" }}.'
            )
        behind = str(line.get("behind", ""))
        panels[name] = Panel(
            _number(where, f"panels.{name}.minutes", line.get("minutes"), 0.0, 240.0), behind
        )
        _known(where, f"panels.{name}", behind, lines)
    for name, panel in panels.items():
        way, at = [name], panel.behind
        while at:
            if at in way:
                raise UnreadableError(f"{where}: panels.{name} stands behind itself.")
            way.append(at)
            at = panels[at].behind
    return panels


def _known(where: str, name: str, behind: object, panels: Mapping[str, Any]) -> str:
    if behind and (not isinstance(behind, str) or behind not in panels):
        raise UnreadableError(f"{where}: {name} stands behind “{behind}”, which [panels] does not have.")
    return str(behind)


def _entry(where: str, name: str, lines: Mapping[str, Any], panels: Mapping[str, Panel]) -> CheckEntry:
    behind = _known(where, name, lines.get("behind", ""), panels)
    return CheckEntry(
        str(lines.get("check", "")),
        _number(where, f"{name}.minutes", lines.get("minutes"), 0.1, 240.0),
        _number(where, f"{name}.finds", lines.get("finds"), 0.0, 1.0),
        behind,
        _yes_no(where, f"{name}.running", lines.get("running", False)),
        str(lines.get("source", ASSUMPTION)),
        _words(where, f"{name}.written", lines.get("written", [])),
        _yes_no(where, f"{name}.from_log", lines.get("from_log", True)),
    )


def _yes_no(where: str, name: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise UnreadableError(f"{where}: {name} must be true or false, but was {value!r}.")
    return value


def _words(where: str, name: str, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(words, str) for words in value):
        raise UnreadableError(f'{where}: {name} must be a list of words, such as ["look into the pump"].')
    return tuple(value)


def _number(where: str, name: str, value: Any, least: float, most: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise UnreadableError(
            f"{where}: {name} must be a number from {least:g} to {most:g}, but was {value!r}."
        )
    return float(value)
