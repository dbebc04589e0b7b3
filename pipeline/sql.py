"""Runs the folders of SQL files: one file is one table, and what a file reads decides when it runs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from importlib import resources
from typing import Any

import duckdb

from pipeline.errors import MendstatError

GRAIN = "-- One row per "
# A file with this line is kept as a view: it only selects rows of a table that is there already.
VIEW = "-- Kept as a view."


class SqlFileError(MendstatError):
    """A SQL file of the project breaks the project's own rules."""


def load_folder(folder: str) -> dict[str, str]:
    """
    Texts of the SQL files of one folder of the package, by table name.

    Raises
    ------
    SqlFileError
        If the first line of a file does not say what one row is.
    """
    files = (
        entry
        for entry in resources.files("pipeline").joinpath(folder).iterdir()
        if entry.name.endswith(".sql")
    )
    texts = {entry.name.removesuffix(".sql"): entry.read_text(encoding="utf-8") for entry in files}
    for name, text in texts.items():
        if not text.startswith(GRAIN):
            raise SqlFileError(f'{folder}/{name}.sql must begin with "{GRAIN}…", the grain of its table.')
    return dict(sorted(texts.items()))


def tables_read(con: duckdb.DuckDBPyConnection, text: str) -> set[str]:
    """
    Names, as schema.table, of the stored tables that a query reads.

    The parser's own tree is walked; nothing is bound, so the tables need not exist yet.

    Raises
    ------
    SqlFileError
        If the text is not one SELECT, or reads a table without naming its schema.
    """
    tree = json.loads(con.execute("select json_serialize_sql($1)", [text]).fetchall()[0][0])
    if tree["error"]:
        raise SqlFileError(f"A SQL file could not be parsed: {tree.get('error_message')}")
    named_inside = {entry["key"] for node in _nodes(tree) for entry in _cte_entries(node)}
    read = set()
    for node in _nodes(tree):
        if node.get("type") != "BASE_TABLE":
            continue
        if node["schema_name"]:
            read.add(f"{node['schema_name']}.{node['table_name']}")
        elif node["table_name"] not in named_inside:
            raise SqlFileError(f"A SQL file reads {node['table_name']} without naming its schema.")
    return read


def run_order(con: duckdb.DuckDBPyConnection, folder: str, texts: dict[str, str]) -> list[str]:
    """
    Table names of a folder, each after the tables of that folder it reads.

    Raises
    ------
    SqlFileError
        If files read each other in a circle; the message names them.
    """
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for name, text in texts.items():
        inside = {
            table.split(".", 1)[1] for table in tables_read(con, text) if table.startswith(f"{folder}.")
        }
        unknown = inside - texts.keys()
        if unknown:
            raise SqlFileError(
                f"{folder}/{name}.sql reads {folder}.{min(unknown)}, for which there is no file."
            )
        sorter.add(name, *sorted(inside))
    try:
        return list(sorter.static_order())
    except CycleError as error:
        circle = " reads ".join(f"{folder}/{name}.sql" for name in reversed(error.args[1]))
        raise SqlFileError(f"SQL files read each other in a circle: {circle}.") from None


def run_folder(con: duckdb.DuckDBPyConnection, folder: str) -> list[str]:
    """Create the schema of a folder and each of its tables and views; gives the tables in the order they were made."""
    texts, order = folder_files(folder)
    con.execute(f"create schema if not exists {folder}")
    for name in order:
        kind = "view" if VIEW in texts[name] else "table"
        con.execute(f"create or replace {kind} {folder}.{name} as {texts[name]}")
    return order


@cache
def folder_files(folder: str) -> tuple[dict[str, str], list[str]]:
    """Texts and order of a folder: the files of the package do not change while it runs."""
    texts = load_folder(folder)
    with duckdb.connect() as parser:
        return texts, run_order(parser, folder, texts)


def _nodes(tree: Any) -> Iterator[dict[str, Any]]:
    if isinstance(tree, dict):
        yield tree
        for value in tree.values():
            yield from _nodes(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _nodes(value)


def _cte_entries(node: dict[str, Any]) -> list[dict[str, Any]]:
    found = node.get("cte_map")
    return found["map"] if isinstance(found, dict) else []
