"""Imports run one way along the path of the data."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
# A stage may import itself and what stands before it, nothing behind it.
ORDER = [
    "errors",
    "standard_log",
    "settings",
    "vocabulary",
    "layouts",
    "sql",
    "store",
    "normalise",
    "tables",
    "facts",
    "intake",
    "build",
    "draft_layout",
    "open_questions",
    "recognition",
    "questions",
    "load",
]
PURE = ("estimators", "planning")
FORBIDDEN_IN_PURE = {
    "duckdb",
    "polars",
    "pyarrow",
    "pathlib",
    "io",
    "pipeline.store",
    "pipeline.measures",
    "pipeline.intake",
}
FORBIDDEN_IN_PIPELINE = {"dashboards", "altair", "streamlit", "pandas"}


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def python_files(folder: str) -> list[Path]:
    return sorted((ROOT / folder).rglob("*.py"))


def starts_with(module: str, names: set[str]) -> bool:
    return any(module == name or module.startswith(f"{name}.") for name in names)


@pytest.mark.parametrize("path", python_files("pipeline"), ids=lambda path: str(path.relative_to(ROOT)))
def test_pipeline_never_imports_pages_or_charts(path):
    assert not [module for module in imports_of(path) if starts_with(module, FORBIDDEN_IN_PIPELINE)]


@pytest.mark.parametrize("folder", PURE)
def test_estimators_and_planning_know_no_database_and_no_files(folder):
    files = python_files(f"pipeline/{folder}")
    assert files
    wrong = {
        (path.name, module)
        for path in files
        for module in imports_of(path)
        if starts_with(module, FORBIDDEN_IN_PURE)
    }
    assert not wrong


def stage_of(module: str) -> int | None:
    parts = module.split(".")
    if parts[0] != "pipeline" or len(parts) < 2 or parts[1] not in ORDER:
        return None
    return ORDER.index(parts[1])


@pytest.mark.parametrize("path", python_files("pipeline"), ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_one_way_along_the_path(path):
    own = stage_of(".".join(path.relative_to(ROOT).with_suffix("").parts))
    if own is None:
        return
    later = [
        module
        for module in imports_of(path)
        if (stage_of(module) or 0) > own or starts_with(module, {"pipeline.measures", "pipeline.cli"})
    ]
    assert not later


@pytest.mark.parametrize("path", python_files("dashboards"), ids=lambda path: str(path.relative_to(ROOT)))
def test_only_the_data_module_of_the_pages_reaches_into_the_store(path):
    if path.name in ("data.py", "serve.py", "trainers_book.py", "upload.py"):
        return
    reached = [
        module
        for module in imports_of(path)
        if starts_with(module, {"duckdb", "pipeline.store", "pipeline.load", "pipeline.intake"})
    ]
    assert not reached
