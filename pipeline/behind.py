"""What the build does not hold yet of what was received: a load may have been stopped before its end."""

from __future__ import annotations

import duckdb

from pipeline.build import MadeFrom, built_from, made_from
from pipeline.plain_words import whole
from pipeline.store.folder import Store
from pipeline.store.manifest import ReceivedFile

REMEDY = "If no load is running, one was stopped before its end: run `mendstat reread`."


def behind(store: Store, con: duckdb.DuckDBPyConnection) -> str:
    """
    What the figures of a build leave out, in a sentence or two; empty where they hold all that was received.

    Parameters
    ----------
    store : Store
    con : connection
        Its current build, open.
    """
    received = store.manifest
    made = built_from(con)
    if made == made_from(store, received):
        return ""
    built = set(con.execute("select load_no, file_no from received.files").fetchall())
    missing = [entry for entry in received.active if (entry.load, entry.file_no) not in built]
    return f"{_missing(missing) if missing else _changed(made, received.digest())} {REMEDY}"


def _missing(files: list[ReceivedFile]) -> str:
    named = ", ".join(f"{entry.name} ({whole(entry.rows)} rows)" for entry in files)
    return f"Received, and not in these figures yet: {named}."


def _changed(built: MadeFrom, manifest: str) -> str:
    what = "What was received" if built[0] != manifest else "Corrections or the shop's own words"
    return f"{what} changed after these figures were built."
