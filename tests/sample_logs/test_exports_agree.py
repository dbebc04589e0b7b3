"""Figures from an export equal those from the log without what the export never says; nothing about people is kept."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from shutil import copy

import polars as pl
import pyarrow.parquet as pq
import pytest
from polars.testing import assert_frame_equal

from pipeline.errors import CannotAnswerError
from pipeline.load import load
from pipeline.log_check import log_check
from pipeline.measures import Question, evaluate
from pipeline.standard_log import column_names
from pipeline.store.folder import Store
from sample_logs.exports import EXPORTS, layout_files, write_exports
from sample_logs.exports.people import person
from sample_logs.simulate import simulate
from sample_logs.write import write_files

MACHINES = 500
# Two real exports name their machines as the lists do; in the others a customer's name stands for the site.
WITH_MACHINE_LIST = {"spreadsheet", "json lines"}
BY_FIX = ("part_no", "action")
FIGURES = {
    "failures": ("part-failure-rate", Question()),
    "failures by type": ("part-failure-rate", Question(by=("unit_type", "part_no"))),
    "failures seen": ("part-failure-rate", Question(basis="machines-seen")),
    "returns": ("repeat-visits", Question()),
    "returns of the same fault": ("repeat-visits", Question(kind="same-fault")),
    "returns by fix": ("repeat-visits", Question(by=BY_FIX)),
    "returns of the same fault by fix": ("repeat-visits", Question(kind="same-fault", by=BY_FIX)),
    "minutes": ("time-to-fix", Question(by=("unit_type",))),
    "days without the machine": ("time-to-fix", Question(clock="restored", by=("unit_type",))),
    "visits": ("time-to-fix", Question(clock="visits", by=("unit_type",))),
    "fixed": ("fixed-share", Question(by=("unit_type",))),
    "first visit": ("first-visit", Question(by=("unit_type",))),
    "no fault found": ("no-fault-found", Question(by=("unit_type",))),
    "another part": ("wrong-part", Question()),
}
# What the source cannot tell is refused for the export as for the log.
REFUSED = {"three files": {"minutes"}}
LOADED = ("json lines",)
COMPARED = ("value", "numerator", "denominator")


@dataclass(frozen=True)
class Firm:
    """The firm's files, its exports and what was planted in them, in one folder."""

    folder: Path
    rows: list
    planted: dict

    def files(self, name):
        return [self.folder / "exports" / file for file in self.planted[name].rows]

    def lists(self, name):
        wanted = ("parts", "machines") if name in WITH_MACHINE_LIST else ("parts",)
        return {kind: self.folder / f"{kind}.csv" for kind in wanted}


@pytest.fixture(scope="module")
def firm(tmp_path_factory):
    folder = tmp_path_factory.mktemp("firm")
    files = simulate(machines=MACHINES)
    write_files(files, folder)
    return Firm(folder, files["log"], write_exports(files["log"], folder / "exports"))


@pytest.fixture(scope="module")
def stores(firm):
    """The stores of an export and of the log that says as much, each made once."""
    made = {}

    def of(name):
        if name not in made:
            export = firm.folder / name / "export"
            (export / "layouts").mkdir(parents=True)
            for layout in EXPORTS[name].LAYOUTS:
                copy(layout_files()[layout], export / "layouts")
            files = firm.files(name)[:1] if name == "visit sheet" else firm.files(name)
            load(export, files, **firm.lists(name), key_path=firm.folder / "key")
            made[name] = export
        return made[name]

    return of


@pytest.fixture(scope="module")
def clean_stores(firm):
    made = {}

    def of(name):
        if name not in made:
            path = firm.folder / name / "log.csv"
            path.parent.mkdir(exist_ok=True)
            _write_clean(firm.planted[name].clean, EXPORTS[name].NEVER_HAD, path)
            load(path.parent / "clean", [path], **firm.lists(name), key_path=firm.folder / "key")
            made[name] = path.parent / "clean"
        return made[name]

    return of


def _write_clean(rows, never_had, path):
    columns = [name for name in column_names("log") if name not in never_had]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def ask(store, figure):
    """Groups with value, numerator and denominator; or the sentence that refuses."""
    name, question = FIGURES[figure]
    with Store(store).connect() as con:
        try:
            frame = evaluate(con, name, question)
        except CannotAnswerError as refusal:
            return str(refusal)
    groups = [name for name in question.by if name in frame.columns] or list(
        frame.columns[: frame.columns.index("value")]
    )
    return frame.select(*groups, *COMPARED).sort(groups) if groups else frame.select(COMPARED)


@pytest.mark.parametrize("figure", FIGURES)
@pytest.mark.parametrize("name", LOADED)
def test_a_figure_is_that_of_the_log_that_says_as_much(stores, clean_stores, name, figure):
    export, log = ask(stores(name), figure), ask(clean_stores(name), figure)
    if figure in REFUSED.get(name, ()):
        assert export == log
        return
    assert isinstance(log, pl.DataFrame), log
    assert log.height >= 1
    assert_frame_equal(export, log, abs_tol=1e-9, rel_tol=0)


@pytest.mark.parametrize("name", LOADED)
def test_rows_set_aside_are_those_planted_with_their_reasons(stores, firm, name):
    planted, found, received = firm.planted[name], Counter(), {}
    for file in log_check(stores(name)):
        if file["kind"] == "log":
            received[file["file"].split(", ")[0]] = file["received"]
            found.update({each["reason"]: each["count"] for each in file["reasons"]})
            assert file["received"] == file["used"] + file["repeated"] + file["replaced"] + file["set_aside"]
    assert found == planted.set_aside
    assert received.items() <= planted.rows.items()
    assert sum(f["repeated"] for f in log_check(stores(name)) if f["kind"] == "log") == planted.repeated


@pytest.mark.parametrize("name", LOADED)
def test_nothing_about_customers_is_anywhere_in_the_store(stores, firm, name):
    kept = _everything(stores(name))
    marks = {mark.casefold() for row in firm.rows for mark in person(row["site_id"]).marks}
    assert len(marks) > 500
    text = kept.casefold()
    assert not [mark for mark in marks if mark in text]
    assert "key safe" not in text


def _everything(store):
    """Every byte of the store, and every text in its compressed columns."""
    files = [path for path in store.rglob("*") if path.is_file() and path.suffix != ".toml"]
    texts = [path.read_bytes().decode("latin-1") for path in files]
    texts += [str(path.relative_to(store)) for path in files]
    for path in files:
        if path.suffix == ".parquet":
            table = pq.read_table(path)
            texts += ["\n".join({str(value) for value in column.to_pylist()}) for column in table.columns]
    with Store(store).connect() as con:
        listed = "select schema_name, table_name, column_name from duckdb_columns() where data_type = 'VARCHAR' and not internal"
        for schema, table, column in con.execute(listed).fetchall():
            values = con.execute(f'select distinct "{column}" from "{schema}"."{table}"').fetchall()
            texts.append("\n".join(str(value) for (value,) in values))
    return "\n".join(texts)
