"""Figures printed for the sample cut off earlier against what came later: no oftener contradicted than their ranges allow."""

from collections import Counter

import pytest
from scipy import stats

from tests.studies.revisions import revisions, summary

FALSE_ALARMS = 0.05  # of 95 % ranges
SURE = 0.999


def assert_seldom_contradicted(found):
    cuts = Counter(each.complete_to for each in found)
    contradicted = Counter(each.complete_to for each in found if each.by_later)
    # Figures of one cut are of different machines, parts or jobs for the most part; those of two cuts are not.
    for cut, count in cuts.items():
        assert contradicted[cut] <= stats.binom.ppf(SURE, count, FALSE_ALARMS), cut
    every = summary(found).filter(figure="all").row(0, named=True)
    assert every["contradicted by what came later %"] <= 6.0
    # The whole log holds the early jobs too: it leaves the early range seldom.
    assert every["whole log outside %"] <= 2.0


def test_early_figures_are_not_contradicted_by_later_ones(sample):
    found = list(revisions(sample, every=9))
    assert len(found) > 300
    assert_seldom_contradicted(found)


@pytest.mark.full
def test_early_figures_of_each_month_are_not_contradicted_by_later_ones(sample):
    found = list(revisions(sample))
    assert len(found) > 3000
    assert_seldom_contradicted(found)
