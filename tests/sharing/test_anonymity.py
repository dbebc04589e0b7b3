"""k-anonymity and l-diversity on published tables, and what an intruder can single out."""

import csv
from pathlib import Path

import polars as pl
import pytest

from pipeline.sharing.anonymity import k_anonymity, l_diversity, standing_alone
from pipeline.sharing.intruder import AS_KEPT, LOOKS, singling_out, singling_out_of_the_share
from pipeline.sharing.protection import THRESHOLD

# Sweeney (2002), Int. J. Uncertainty, Fuzziness 10(5), 557-570, fig. 2: a table with k = 2 (rows from memory).
SWEENEY = """\
race,birth,gender,zip,problem
Black,1965,m,0214*,short breath
Black,1965,m,0214*,chest pain
Black,1965,f,0213*,hypertension
Black,1965,f,0213*,hypertension
Black,1964,f,0213*,obesity
Black,1964,f,0213*,chest pain
White,1964,m,0213*,chest pain
White,1964,m,0213*,obesity
White,1964,m,0213*,short breath
White,1967,m,0213*,chest pain
White,1967,m,0213*,chest pain
"""
# Machanavajjhala et al. (2007), ACM TKDD 1(1), a table that is 4-anonymous with one homogeneous group (from memory).
DIVERSITY = """\
zip,age,nationality,condition
130**,<30,*,heart disease
130**,<30,*,heart disease
130**,<30,*,viral infection
130**,<30,*,viral infection
1485*,>=40,*,cancer
1485*,>=40,*,heart disease
1485*,>=40,*,viral infection
1485*,>=40,*,viral infection
130**,3*,*,cancer
130**,3*,*,cancer
130**,3*,*,cancer
130**,3*,*,cancer
"""


def table(text):
    return pl.DataFrame(list(csv.DictReader(text.splitlines())))


def test_published_table_is_2_anonymous():
    assert k_anonymity(table(SWEENEY), ["race", "birth", "gender", "zip"]) == 2
    # The two hypertension rows give the problem away.
    assert l_diversity(table(SWEENEY), ["race", "birth", "gender", "zip"], "problem") == 1


def test_published_table_is_4_anonymous_and_not_diverse():
    known = ["zip", "age", "nationality"]
    assert k_anonymity(table(DIVERSITY), known) == 4
    assert l_diversity(table(DIVERSITY), known, "condition") == 1
    without = table(DIVERSITY).filter(pl.col("age") != "3*")
    assert l_diversity(without, known, "condition") == 2


def test_a_missing_value_is_a_value_like_another():
    records = pl.DataFrame({"area": ["A", None, None], "outcome": ["x", "y", "y"]})
    assert (k_anonymity(records, ["area"]), standing_alone(records, ["area"])) == (1, 1)


def test_table_without_records_has_no_group():
    empty = pl.DataFrame({"area": [], "outcome": []})
    assert (k_anonymity(empty, ["area"]), l_diversity(empty, ["area"], "outcome")) == (0, 0)


def test_the_more_an_intruder_knows_the_more_jobs_stand_alone(sample):
    report = singling_out(sample)
    by_knowledge = report.filter(pl.col("made_coarser") == AS_KEPT)["singled_out"].to_list()
    assert len(by_knowledge) == len(LOOKS)
    assert by_knowledge == sorted(by_knowledge)
    assert by_knowledge[-1] > 0


def test_each_step_of_coarsening_leaves_fewer_jobs_standing_alone(sample):
    report = singling_out(sample)
    coarser = report.filter(pl.col("made_coarser") != AS_KEPT)["singled_out"].to_list()
    assert coarser == sorted(coarser, reverse=True)
    assert coarser[-1] == 0


def test_of_the_shared_export_nobody_is_singled_out(sample):
    found = singling_out_of_the_share(sample)
    kept = singling_out(sample)
    assert kept.vstack(found).height == kept.height + 1
    assert found["singled_out"].item() == 0
    assert found["smallest_group"].item() >= THRESHOLD
    assert found["jobs"].item() <= kept["jobs"][0]


def test_k_and_l_of_the_sample_are_those_of_its_smallest_group(sample):
    """A plain twin: the sample's rows put into groups one by one."""
    known = sample.execute(
        "select area, unit_type, strftime(reported_on, '%Y-%m'), outcome from tables.jobs where reported_on is not null"
    ).fetchall()
    groups = {}
    for *who, outcome in known:
        groups.setdefault(tuple(who), []).append(outcome)
    (look,) = (
        singling_out(sample)
        .filter((pl.col("knows") == "area, kind, month") & (pl.col("made_coarser") == AS_KEPT))
        .to_dicts()
    )
    assert look["smallest_group"] == min(map(len, groups.values()))
    assert look["fewest_outcomes_in_a_group"] == min(len(set(outcomes)) for outcomes in groups.values())


def test_count_of_jobs_that_stand_alone_is_that_of_a_plain_count(sample):
    rows = sample.execute(
        "select area, unit_type, strftime(reported_on, '%Y-%m') from tables.jobs where reported_on is not null"
    ).fetchall()
    alone = sum(rows.count(row) == 1 for row in rows)
    report = singling_out(sample)
    assert report.filter(pl.col("knows") == "area, kind, month")["singled_out"].item() == alone


@pytest.mark.skipif(
    not (Path(__file__).parents[2] / "../shared/reference/data").exists(), reason="../shared is not here"
)
@pytest.mark.parametrize(
    ("name", "text"), [("sweeney2002_k2", SWEENEY), ("ldiversity_4anonymous", DIVERSITY)]
)
def test_tables_here_are_those_of_the_reference_folder(name, text):
    path = Path(__file__).parents[2] / "../shared/reference/data" / f"{name}.csv"
    assert list(csv.DictReader(path.read_text().splitlines())) == list(csv.DictReader(text.splitlines()))
