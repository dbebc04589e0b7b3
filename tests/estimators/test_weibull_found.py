"""Weibull fits of lives that were found ended at a look: published data, the likelihood itself, the edges."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy import optimize

from pipeline.estimators.curves import Entries
from pipeline.estimators.weibull import Found, fit_weibull
from tests.estimators.drawn_lives import fit_drawn

NOBODY = Found([], [], [], [])


def drawn(seed, *, delayed):
    """Lives seen to end, still going on, and found ended at a look; those found, with the look before (or none)."""
    rng = np.random.default_rng(seed)
    life = rng.weibull(rng.choice([0.7, 1.0, 2.5]), 400) * 100
    entry = rng.uniform(1, 60, 400) * delayed
    last = entry + rng.uniform(1, 200, 400)
    seen = life > entry
    life, entry, last = life[seen], entry[seen], last[seen]
    failed = (life <= last).astype(int)
    # A third of the failures were not seen: found at a look some time later.
    unseen = (failed == 1) & (rng.uniform(size=len(life)) < 1 / 3)
    by = life * rng.uniform(1.05, 2, len(life))
    return np.minimum(life, last), failed, entry, unseen, by


def test_turbine_wheels_cracked_or_not_at_one_look_each(reference):
    # Nelson (1982), Meeker & Escobar; data as R's package survival carries them. Shape, scale (100 hours) and
    # likelihood recomputed: own, and surpyval 2.175780, 46.777233.
    data = reference("turbine_wheel")
    time, looked_at, cracked = data["hours100"], data["inspected"].astype(int), data["cracked"].astype(int)
    assert (len(time), looked_at.sum()) == (11, 432)
    group = np.zeros(11, dtype=int)
    fit = fit_weibull(
        group, time, group, looked_at - cracked, groups=1, found=Found(group, 0 * time, time, cracked)
    )
    assert_allclose((fit.shape[0], fit.scale[0]), (2.175780, 46.77723), rtol=1e-6)
    assert_allclose(fit.log_likelihood, -189.287193, atol=5e-7)
    assert fit.events == cracked.sum()


def log_likelihood(logs, lives):
    (shape, scale), (time, failed, entry, unseen, by) = np.exp(logs), lives

    def hazard(at):
        return (at / scale) ** shape

    seen = failed * (np.log(shape / scale) + (shape - 1) * np.log(time / scale)) - hazard(time)
    between = -hazard(entry) + np.log(-np.expm1(hazard(entry) - hazard(by)))
    return (np.where(unseen, between, seen) + hazard(entry)).sum()


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("delayed", [False, True])
def test_the_fit_is_the_top_of_the_likelihood(seed, delayed):
    lives = drawn(seed, delayed=delayed)
    fit = fit_drawn(*lives)
    best = optimize.minimize(
        lambda logs: -log_likelihood(logs, lives),
        [0, np.log(100)],
        method="Nelder-Mead",
        options={"xatol": 1e-10, "fatol": 1e-12},
    )
    assert fit.is_fitted
    assert_allclose((fit.shape[0], fit.scale[0]), np.exp(best.x), rtol=1e-6)
    assert_allclose(fit.log_likelihood, -best.fun, rtol=1e-10)
    # The limits are those of the curvature there, taken by differences.
    step = 1e-3
    at = [[log_likelihood(best.x + np.array([i, j]) * step, lives) for j in (-1, 0, 1)] for i in (-1, 0, 1)]
    aa, bb = at[2][1] - 2 * at[1][1] + at[0][1], at[1][2] - 2 * at[1][1] + at[1][0]
    ab = (at[2][2] - at[2][0] - at[0][2] + at[0][0]) / 4
    variance = np.linalg.inv(-np.array([[aa, ab], [ab, bb]]) / step**2).diagonal()
    widths = np.ravel(np.log([fit.shape_high / fit.shape, fit.scale_high / fit.scale])) / 1.959963985
    assert_allclose(widths, np.sqrt(variance), rtol=1e-3)


def test_with_nobody_found_it_is_the_ordinary_fit():
    rng = np.random.default_rng(3)
    group, time, failed = rng.integers(0, 6, 900), rng.weibull(1.4, 900) * 80, rng.integers(0, 2, 900)
    one = np.ones(900, dtype=int)
    entries = Entries(group, time * rng.uniform(0, 0.5, 900), one)
    ordinary = fit_weibull(group, time, failed, 1 - failed, groups=7, entries=entries)
    other = fit_weibull(group, time, failed, 1 - failed, groups=7, entries=entries, found=NOBODY)
    assert_array_equal(other.is_fitted, [True] * 6 + [False])
    for column, same in zip(other, ordinary, strict=True):
        assert_allclose(column, same, rtol=1e-7)


def test_groups_do_not_touch_each_other():
    rng = np.random.default_rng(4)
    group, life = np.repeat(np.arange(30), 60), rng.weibull(1.8, 1800) * 50
    look = rng.uniform(5, 120, 1800)
    found, one = life <= look, np.ones(1800, dtype=int)

    def fitted(own, place, groups):
        left = own & ~found
        return fit_weibull(
            place[left],
            look[left],
            0 * one[left],
            one[left],
            groups=groups,
            found=Found(place[own & found], 0 * look[own & found], look[own & found], one[own & found]),
        )

    together = fitted(group >= 0, group, 30)
    assert together.is_fitted.all()
    for number in range(0, 30, 7):
        alone = fitted(group == number, 0 * group, 1)
        assert_allclose([column[number] for column in together], np.ravel(np.array(alone)), rtol=1e-7)
    held = (together.shape_low <= 1.8) & (together.shape_high >= 1.8)
    assert held.sum() >= 25


@pytest.mark.parametrize(
    ("left", "found"),
    [
        # All had ended at their look; all at one age; none ended; found later than any other was looked at, and
        # earlier (an older part in better order); nothing at all.
        (([20.0, 30.0], [0, 0]), ([10.0, 20.0], [3, 4])),
        (([20.0], [5]), ([20.0], [5])),
        (([20.0, 30.0], [5, 5]), ([20.0], [0])),
        (([20.0], [5]), ([30.0], [5])),
        (([30.0], [5]), ([20.0], [5])),
        (([], []), ([], [])),
    ],
)
def test_where_there_is_no_answer_it_says_so(left, found):
    (time, going_on), (by, lives) = left, found
    zeros = [0] * len(time)
    fit = fit_weibull(
        zeros, time, zeros, going_on, groups=1, found=Found([0] * len(by), [0.0] * len(by), by, lives)
    )
    assert not fit.is_fitted
    assert_array_equal(np.ravel([fit.shape, fit.shape_low, fit.shape_high]), [np.inf, 0, np.inf])
    assert_array_equal(np.ravel([fit.scale, fit.scale_low, fit.scale_high]), [np.inf, 0, np.inf])


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Found([0], [5.0], [5.0], [1]), "found.by must be later than found.after, but was 5 and 5"),
        (Found([0], [-1.0], [5.0], [1]), "found.after must be at least 0"),
        (Found([0], [0.0], [5.0], [-1]), "found.lives must be at least 0"),
        (Found([1], [0.0], [5.0], [1]), "group must be between 0 and 0"),
        (Found([0], [0.0, 1.0], [5.0], [1]), "after must be as long as group"),
    ],
)
def test_what_cannot_be_is_refused_by_name(found, words):
    with pytest.raises(ValueError, match=words):
        fit_weibull([0], [1.0], [1], [0], groups=1, found=found)
