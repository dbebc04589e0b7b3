"""The same log gives the same figures, byte for byte, under another time zone, another locale, and built again."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.twins.plain_log import write_log

QUESTIONS = (
    ("part-failure-rate",),
    ("part-failure-rate", "--by", "unit_type,age_band"),
    ("part-failure-rate", "--basis", "shares"),
    ("repeat-visits", "--by", "site_kind"),
    ("repeat-visits", "--by", "month", "--kind", "same-fault", "--days", "90"),
    ("time-to-fix", "--by", "site_kind"),
    ("time-to-fix", "--clock", "restored"),
    ("time-to-fix", "--clock", "visits"),
    ("fixed-share", "--by", "month", "--from", "2023-03-01", "--complete-to", "2024-03-31T18:30"),
)
HOME = {"TZ": "UTC", "LC_ALL": "C.UTF-8", "LANG": "C.UTF-8"}
PLACES = {
    "the far side of the date line": {"TZ": "Pacific/Kiritimati"},
    "a zone with summer time": {"TZ": "America/St_Johns"},
    "no locale at all": {"LC_ALL": "C", "LANG": "C"},
    "a locale that knows ASCII only": {"LC_ALL": "POSIX", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
    "decimal commas": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "LC_NUMERIC": "de_DE.UTF-8"},
    "another alphabet's case rules": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
}


# One process a place, many commands: starting Python is most of the time.
RUN_ALL = (
    "import sys; from pipeline.cli import main; sys.exit(max(main(line.split('|')) for line in sys.argv[1:]))"
)


def mendstat(*commands: tuple[str, ...], **place: str) -> bytes:
    """What commands print, one after another, when they are run at a place."""
    inherited = {
        name: value for name, value in os.environ.items() if not name.startswith(("LC_", "PYTHONUTF8"))
    }
    environment = {**inherited, **HOME, **place, "PYTHONPATH": str(Path.cwd())}
    lines = ["|".join(command) for command in commands]
    result = subprocess.run(
        [sys.executable, "-c", RUN_ALL, *lines], capture_output=True, env=environment, timeout=120
    )
    assert result.returncode == 0, result.stderr.decode(errors="replace")
    return result.stdout


def figures(store: Path, **place: str) -> bytes:
    """All questions, answered at a place."""
    commands = [("measure", *question, "--store", str(store), "--format", "json") for question in QUESTIONS]
    return mendstat(*commands, **place)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("everywhere")
    write_log(folder / "log.csv", 1500, seed=5)
    load(folder, "store")
    return folder


def load(folder: Path, store: str, **place: str) -> None:
    """Load the log into a store of the folder, always with the folder's own key."""
    mendstat(
        ("load", str(folder / "log.csv"), "--store", str(folder / store), "--key", str(folder / "key")),
        **place,
    )


@pytest.fixture(scope="module")
def at_home(folder: Path) -> bytes:
    return figures(folder / "store")


def test_figures_say_something(at_home: bytes) -> None:
    assert at_home.count(b'"value"') > 50
    assert at_home.count(b'"value": null') + at_home.count(b'"value":null') < at_home.count(b'"value"') / 2
    assert "café".encode() in at_home


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES.keys())
def test_figures_do_not_depend_on_where_they_are_asked_for(
    folder: Path, at_home: bytes, place: dict[str, str]
) -> None:
    assert figures(folder / "store", **place) == at_home


@pytest.mark.parametrize("place", PLACES.values(), ids=PLACES.keys())
def test_figures_do_not_depend_on_where_the_log_was_loaded(
    folder: Path, at_home: bytes, place: dict[str, str], tmp_path: Path
) -> None:
    (tmp_path / "log.csv").write_bytes((folder / "log.csv").read_bytes())
    (tmp_path / "key").write_bytes((folder / "key").read_bytes())
    load(tmp_path, "store", **place)
    assert figures(tmp_path / "store") == at_home


def test_figures_are_the_same_after_everything_was_read_again(folder: Path, at_home: bytes) -> None:
    mendstat(("reread", "--store", str(folder / "store")), TZ="Pacific/Kiritimati", LC_ALL="C")
    assert figures(folder / "store") == at_home


# Zones without summer time: every local day and hour of the log stays what it was.
@pytest.mark.parametrize("zone", ["Asia/Kolkata", "Pacific/Kiritimati", "Pacific/Marquesas"])
def test_figures_do_not_depend_on_the_zone_the_log_keeps_its_clock_in(
    folder: Path, at_home: bytes, zone: str, tmp_path: Path
) -> None:
    (tmp_path / "log.csv").write_bytes((folder / "log.csv").read_bytes())
    (tmp_path / "key").write_bytes((folder / "key").read_bytes())
    (tmp_path / "store").mkdir()
    (tmp_path / "store" / "settings.toml").write_text(f'time_zone = "{zone}"\n')
    load(tmp_path, "store", TZ="America/St_Johns")
    assert figures(tmp_path / "store") == at_home
