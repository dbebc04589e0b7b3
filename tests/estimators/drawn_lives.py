"""A Weibull fitted to drawn lives, some only found ended at a look: for our tests and those beside a second library."""

from __future__ import annotations

import numpy as np

from pipeline.estimators.curves import Entries
from pipeline.estimators.weibull import Found, fit_weibull


def fit_drawn(time, failed, entry, unseen, by):
    group, one = np.zeros(len(time), dtype=int), np.ones(len(time), dtype=int)
    return fit_weibull(
        group[~unseen],
        time[~unseen],
        failed[~unseen],
        1 - failed[~unseen],
        groups=1,
        entries=Entries(group, entry, one),
        found=Found(group[unseen], entry[unseen], by[unseen], one[unseen]),
    )
