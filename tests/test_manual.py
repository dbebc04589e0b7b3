"""Every command, measure, layout and page is described where a user or a developer looks for it."""

import argparse
import re
from pathlib import Path

import pytest

from pipeline.cli import parser
from pipeline.measures import MEASURES

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    action = next(action for action in parser()._actions if isinstance(action, argparse._SubParsersAction))
    return sorted(action.choices)


@pytest.mark.parametrize("command", commands())
def test_every_command_stands_in_the_readme(command):
    assert f"`mendstat {command}" in README


@pytest.mark.parametrize("name", sorted(MEASURES))
def test_every_measure_stands_in_the_readme_with_its_question(name):
    assert f"`{name}`" in README
    assert MEASURES[name].question in README


@pytest.mark.parametrize("layout", sorted(path.stem for path in (ROOT / "pipeline/layouts").glob("*.toml")))
def test_every_shipped_layout_stands_in_the_readme(layout):
    assert f"`{layout}`" in README


def test_readme_has_exactly_two_commands_to_copy():
    blocks = re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)
    assert [len(block.strip().splitlines()) for block in blocks] == [1, 1]


@pytest.mark.parametrize("recipe", ["Add a layout", "Add a measure", "Add a page"])
def test_developers_have_the_three_recipes(recipe):
    assert recipe in DEVELOPERS


@pytest.mark.parametrize(
    "path", sorted((ROOT / "pipeline").rglob("*.sql")), ids=lambda path: f"{path.parent.name}/{path.name}"
)
def test_every_sql_file_says_its_grain_first(path):
    assert path.read_text(encoding="utf-8").startswith("-- One row per ")
