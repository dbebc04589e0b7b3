"""What the trainer asks of a build, and what is written down in the store: reasons, house notes, what was taught."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import streamlit as st

from pipeline.errors import MendstatError
from pipeline.measures.did_it_take import DidItTake, did_it_take
from pipeline.measures.procedure_detail import ProcedureDetail, procedure_detail
from pipeline.measures.procedure_jobs import PROCEDURE
from pipeline.measures.question import Question
from pipeline.measures.what_to_teach import what_to_teach
from pipeline.store.folder import Store
from pipeline.training import house_notes, reasons, taught
from pipeline.training.house_notes import HouseNote
from pipeline.training.reasons import Comeback
from pipeline.training.taught import Taught

SECONDS_TO_BUILD = 1800


@dataclass(frozen=True)
class TrainersBook:
    """One store and one of its builds, as the trainer uses them."""

    store: Path
    build: str
    con: duckdb.DuckDBPyConnection

    def detail(self, row: Mapping[str, Any]) -> ProcedureDetail:
        """What a trainer needs to know of a procedure."""
        return _detail(str(self.store), self.build, tuple(row[name] for name in PROCEDURE), self.con)

    def to_teach(self, compared: pl.DataFrame) -> list[dict[str, Any]]:
        """Procedures, compared by the measure of that name, by what teaching them might save (see pipeline.measures.what_to_teach)."""
        return _to_teach(str(self.store), self.build, self.con, compared)

    def awaiting(self) -> list[Comeback]:
        """Comebacks without a reason, newest first."""
        return reasons.awaiting(_without_reason(str(self.store), self.build, self.con), Store(self.store))

    def keep_reasons(self, given: Mapping[str, str]) -> str:
        """Keep them; the sentence that says why not, or nothing."""
        return _said(lambda: reasons.keep_reasons(Store(self.store), given))

    def build_again(self) -> str:
        """Build the log again in a process of its own, so that figures know what was written down; why not, or nothing."""
        command = [sys.executable, "-m", "pipeline.cli", "reread", "--store", str(self.store)]
        done = subprocess.run(command, capture_output=True, timeout=SECONDS_TO_BUILD, check=False)  # noqa: S603
        return "" if done.returncode == 0 else done.stderr.decode("utf-8", "replace").strip()

    def notes(self) -> tuple[HouseNote, ...]:
        """All house notes."""
        return house_notes.read_notes(self.store)

    def propose(self, text: str, unit_type: str, symptom: str) -> str:
        """Keep a note that waits for approval; why not, or nothing."""
        return _said(
            lambda: house_notes.add_note(
                self.store, house_notes.new_note(text, unit_type, today(), symptom=symptom)
            )
        )

    def approve(self, note: HouseNote) -> str:
        """Show it at the machine; why not, or nothing."""
        return _said(lambda: house_notes.approve(self.store, note, today()))

    def remove(self, note: HouseNote) -> str:
        """Take it away; why not, or nothing."""
        return _said(lambda: house_notes.remove(self.store, note))

    def taught(self) -> tuple[Taught, ...]:
        """What was taught and when."""
        return taught.read_taught(self.store)

    def write_taught(self, row: Mapping[str, Any], day: date) -> str:
        """Write down that a procedure was taught; why not, or nothing."""
        one = Taught(day.isoformat(), *(row[name] or "" for name in PROCEDURE))
        return _said(lambda: taught.add_taught(self.store, one))

    def took(self, one: Taught) -> DidItTake:
        """Whether it took."""
        others = [other.key for other in self.taught()]
        return did_it_take(self.con, one.key, one.day, also_taught=others, question=Question())


def today() -> date:
    """The day something is written down; no figure depends on it."""
    return datetime.now(tz=UTC).date()


def _said(do: Any) -> str:
    try:
        do()
    except MendstatError as error:
        return str(error)
    return ""


@st.cache_data(max_entries=60, show_spinner=False)
def _detail(store: str, build: str, key: tuple[Any, ...], _con: duckdb.DuckDBPyConnection) -> ProcedureDetail:  # noqa: ARG001
    return procedure_detail(_con, dict(zip(PROCEDURE, key, strict=True)), Question())


@st.cache_data(max_entries=4, show_spinner=False)
def _to_teach(
    store: str,  # noqa: ARG001
    build: str,  # noqa: ARG001
    _con: duckdb.DuckDBPyConnection,
    _compared: pl.DataFrame,
) -> list[dict[str, Any]]:
    try:
        return what_to_teach(_con, Question(), _compared)
    except MendstatError:
        return []


@st.cache_data(max_entries=2, show_spinner=False)
def _without_reason(store: str, build: str, _con: duckdb.DuckDBPyConnection) -> list[reasons.Unexplained]:  # noqa: ARG001
    return reasons.without_reason(_con)
