"""The function group that each part number and part name is in, as far as numbers and names tell."""

from __future__ import annotations

from collections.abc import Iterator

import duckdb

from pipeline.normalise.part_keys import match_key
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.vocabulary import Words
from pipeline.vocabulary.function_groups import FunctionGroups


def read_part_groups(con: duckdb.DuckDBPyConnection, groups: FunctionGroups, names: Words) -> None:
    """
    Create normalise.number_groups (part_key → function_group) and .name_groups (part_name → function_group).

    Parameters
    ----------
    con : connection
        With normalise.meanings.
    groups : FunctionGroups
        Which names make no group, and the shop's own groups.
    names : Words
        Vocabulary of part names: the shop may have written one of the other ways of writing.
    """
    own = {names.meaning(written) or written: group for written, group in groups.own.items()}
    read = FunctionGroups(groups.ambiguous, {**own, **groups.own})
    keys = {key: group for written, group in groups.own.items() if (key := match_key(written))}
    store_rows(
        con,
        "number_groups",
        text_columns("part_key", "function_group"),
        ({"part_key": key, "function_group": group} for key, group in keys.items()),
    )
    store_rows(con, "name_groups", text_columns("part_name", "function_group"), _of_names(con, read))


def _of_names(con: duckdb.DuckDBPyConnection, groups: FunctionGroups) -> Iterator[dict[str, object]]:
    sql = """
    select distinct meaning from normalise.meanings
    where column_name in ('part_name', 'parts.part_name') and meaning is not null order by meaning
    """
    for (name,) in con.execute(sql).fetchall():
        if group := groups.of_name(name):
            yield {"part_name": name, "function_group": group}
