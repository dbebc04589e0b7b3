"""What a person types or chooses never becomes part of a query: it is bound to one, or it is refused."""

import ast
from pathlib import Path

import pytest

from dashboards import STORE_VARIABLE, data
from pipeline.cli import main
from pipeline.measures.symptom_words import Case

DASHBOARDS = Path(__file__).parents[2] / "dashboards"
HOSTILE = (
    "' or '1'='1",
    "x'; drop table tables.jobs; --",
    "$1",
    "{kind}",
    "\\' union select technician from tables.visits --",
    'model" from tables.jobs --',
)
# Calls that a query goes through.
ASKING = {"execute", "sql", "_rows"}


@pytest.fixture
def fleet(sample_store, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(sample_store))
    return data.open_fleet()


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_words_are_words(fleet, text):
    assert fleet.models(text) == []
    assert len(fleet.models("")) > 5
    assert fleet.suggestions("not draining", text) == fleet.suggestions("not draining", "no such kind")
    for case in (
        Case(text),
        Case("not draining", unit_type=text),
        Case("not draining", model=text),
        Case("not draining", code=text),
    ):
        found = fleet.understand(case)
        assert found.understood is not None or found.refusal.endswith((".", "?"))
    assert fleet.ask("fixed-share", by=(text,)).refusal
    assert fleet.kinds()


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_words_on_the_command_line_are_words(sample_store, text, capsys):
    store = ["--store", str(sample_store)]
    assert main(["measure", "fixed-share", "--by", text, *store]) in (1, 2)
    assert main(["symptom", text, *store]) in (0, 1)
    assert main(["symptom", "not draining", "--type", text, "--model", text, "--code", text, *store]) in (
        0,
        1,
    )
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "path", sorted(DASHBOARDS.rglob("*.py")), ids=lambda path: str(path.relative_to(DASHBOARDS))
)
def test_no_query_of_the_pages_is_put_together_from_parameters(path):
    """Only names that the module itself lists stand in an f-string that is asked."""
    for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(function, ast.FunctionDef):
            continue
        given = {argument.arg for argument in (*function.args.args, *function.args.kwonlyargs)} - {"self"}
        for call in ast.walk(function):
            if (
                isinstance(call, ast.Call)
                and getattr(call.func, "attr", getattr(call.func, "id", "")) in ASKING
            ):
                put_in = {
                    name.id
                    for part in ast.walk(call)
                    if isinstance(part, ast.FormattedValue)
                    for name in ast.walk(part)
                    if isinstance(name, ast.Name)
                }
                assert not put_in & given, f"{path.name}, {function.name}: {put_in & given}"
