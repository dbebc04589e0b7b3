"""Figures of exports read by the layout that was recognised equal those of the log that says as much."""

from __future__ import annotations

from collections import Counter

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.cli import main
from pipeline.load import load
from pipeline.log_check import log_check
from sample_logs.exports import EXPORTS, write_exports
from sample_logs.simulate import simulate
from sample_logs.write import write_files
from tests.sample_logs import test_exports_agree as by_hand

MACHINES = 120
RECOGNISED = ("spreadsheet", "json lines", "notebook")


@pytest.fixture(scope="module")
def firm(tmp_path_factory):
    folder = tmp_path_factory.mktemp("firm")
    files = simulate(machines=MACHINES)
    write_files(files, folder)
    return by_hand.Firm(folder, files["log"], write_exports(files["log"], folder / "exports"))


@pytest.mark.parametrize("name", RECOGNISED)
def test_figures_by_the_recognised_layout_are_those_of_the_log_that_says_as_much(firm, name):
    (file,) = firm.files(name)
    export, log = firm.folder / name / "export", firm.folder / name / "clean"
    assert main(["recognise", str(file), "--store", str(export)]) == 0
    load(export, [file], **firm.lists(name), key_path=firm.folder / "key")
    by_hand._write_clean(firm.planted[name].clean, EXPORTS[name].NEVER_HAD, firm.folder / name / "log.csv")
    load(log, [firm.folder / name / "log.csv"], **firm.lists(name), key_path=firm.folder / "key")
    told = 0
    for figure in by_hand.FIGURES:
        mine, true = by_hand.ask(export, figure), by_hand.ask(log, figure)
        if isinstance(true, pl.DataFrame):
            assert_frame_equal(mine, true, abs_tol=1e-9, rel_tol=0)
            told += true.height
        else:
            assert mine == true
    assert told > 20
    (checked,) = [each for each in log_check(export) if each["kind"] == "log"]
    reasons = Counter({each["reason"]: each["count"] for each in checked["reasons"]})
    assert reasons == firm.planted[name].set_aside
    assert checked["repeated"] == firm.planted[name].repeated
