"""The shared export of the sample firm: what is in it, and what is not."""

import numpy as np
import polars as pl
import pytest

from pipeline.sharing.counted import ALL, TABLES, count_cells
from pipeline.sharing.protection import THRESHOLD, publishable
from pipeline.sharing.shared_cells import COLUMNS, kept_share, shared_export


@pytest.fixture(scope="module")
def export(sample):
    return shared_export(sample)


def test_smallest_count_is_ten_and_all_are_rounded(export):
    counts = export.cells["count"]
    assert counts.min() >= THRESHOLD
    assert (counts % 5 == 0).all()


def test_cells_published_hold_four_fifths_of_the_jobs_in_every_table(sample):
    counted = count_cells(sample)
    kept = kept_share(counted, publishable(counted.counts, counted.sums))
    assert len(kept) == len(TABLES)
    assert min(kept.values()) >= 0.8


def test_every_total_is_the_sum_of_its_parts(sample):
    counted = count_cells(sample)
    for each in counted.sums:
        assert counted.counts[each.total] == counted.counts[list(each.parts)].sum()


def test_totals_agree_with_the_log(sample, export):
    jobs = sample.execute(
        "select count(*) from tables.jobs where is_fault and reported_on is not null"
    ).fetchone()[0]
    everything = export.cells.filter(
        (pl.col("counted") == "jobs") & pl.all_horizontal(pl.col(column) == ALL for column in COLUMNS)
    )
    assert everything["count"].to_list() == [5 * round(jobs / 5)]


def test_no_person_machine_or_day_is_in_it(sample, export):
    text = export.cells.write_csv() + export.statement
    for column, table in (
        ("technician", "visits"),
        ("site_id", "jobs"),
        ("job_id", "jobs"),
        ("make", "jobs"),
        ("model", "jobs"),
    ):
        values = sample.execute(
            f"select distinct {column} from tables.{table} where {column} is not null"
        ).fetchall()
        assert values
        assert not [value for (value,) in values if f",{value}," in text], column
    assert set(export.cells["month"].str.len_chars()) <= {3, 7}


def test_words_that_nobody_settled_are_not_shown(sample, export):
    known = {
        word
        for (word,) in sample.execute(
            "select distinct meaning from normalise.meanings where column_name = 'symptom' "
            "and rule in ('standard value', 'layout', 'shop''s vocabulary', 'vocabulary')"
        ).fetchall()
    }
    assert set(export.cells["symptom"]) <= known | {ALL, "not known", "other words"}


def test_statement_names_what_was_done(sample, export):
    counted = count_cells(sample)
    shown = publishable(counted.counts, counted.sums)
    small = int(((counted.counts > 0) & (counted.counts < THRESHOLD)).sum())
    assert f"{small} of {counted.counts.size} cells" in export.statement
    assert f"{int(np.sum((counted.counts >= THRESHOLD) & ~shown))} more" in export.statement
    for technique in ("Aggregation", "Generalisation", "suppression", "Rounding"):
        assert technique in export.statement
