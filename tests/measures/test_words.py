"""Sentences on a figure: of whatever groups it is, they are whole and say which group they are about."""

import re
from dataclasses import replace

import polars as pl
import pytest

from pipeline.errors import MendstatError
from pipeline.measures import MEASURES, Question, evaluate
from pipeline.measures.groups import JOB_COLUMNS, VISIT_COLUMNS, WORK_COLUMNS
from pipeline.measures.words import headline_words

BROKEN = re.compile(r"None|nan|inf\b| ,| \.|  |the,|\(\)|a \(")
GROUPS = (
    "month",
    "age_band",
    "make",
    "symptom",
    "unit_type",
    "action",
    "part_no",
    "function_group",
    "test_run",
)


@pytest.mark.parametrize("by", GROUPS)
def test_a_sentence_is_whole_whatever_the_groups(sample, by):
    assert by in {*JOB_COLUMNS, *WORK_COLUMNS, *VISIT_COLUMNS, "month", "age_band"}
    for name in MEASURES:
        for question in (Question(by=(by,)), replace(Question(by=(by,)), clock="restored")):
            if question.clock == "restored" and name != "time-to-fix":
                continue
            try:
                said = headline_words(name, evaluate(sample, name, question))
            except MendstatError:
                continue
            assert not BROKEN.search(said), (name, said)


def test_a_group_that_is_no_part_is_named_in_brackets(sample):
    said = headline_words("repeat-visits", evaluate(sample, "repeat-visits", Question(by=("month",))))
    assert re.match(r"After a fix \(20\d\d-\d\d\), about \d+ in 100", said)
    alone = headline_words("repeat-visits", evaluate(sample, "repeat-visits"))
    assert re.match(r"After a fix, about \d+ in 100 \(likely \d+ to \d+\) came back\.$", alone)


def test_ages_of_one_kind_are_one_group_that_is_told_or_not(sample):
    rows = evaluate(sample, "repairs-by-age", Question(by=("unit_type",)))
    said = headline_words("repairs-by-age", rows)
    untold = rows.filter(pl.col("sample") != "enough")["unit_type"].n_unique()
    silent = re.search(r"For (\d+) more", said)
    assert silent is None or int(silent[1]) <= untold <= rows["unit_type"].n_unique()


def test_half_that_is_not_done_yet_is_said_so(sample):
    row = evaluate(sample, "time-to-fix", Question(clock="restored"))
    waiting = row.with_columns(pl.lit(None, dtype=pl.Float64).alias(name) for name in ("median", "p80"))
    assert headline_words("time-to-fix", waiting).endswith("when half are done is not known yet.")


def test_reasons_that_nobody_recorded_are_told_as_such(sample):
    rows = evaluate(sample, "not-fixed-reasons").filter(pl.col("second_visit_reason").is_null())
    assert headline_words("not-fixed-reasons", rows).startswith("For most of them nothing is recorded.")
