"""Forecasts of use that is zero in most periods, from a series alone: a cross-check of rates, never used for an order."""

from __future__ import annotations

from collections.abc import Sequence


def croston(series: Sequence[float], alpha: float) -> tuple[float, float]:
    """
    Size of a demand and periods between demands, each smoothed when there is one (Croston 1972).

    Starts from the first size, and from the first interval counted from period 1.
    """
    sizes = [(place, size) for place, size in enumerate(series, start=1) if size]
    (last, level), interval = sizes[0], float(sizes[0][0])
    level = float(level)
    for place, size in sizes[1:]:
        level += alpha * (size - level)
        interval += alpha * (place - last - interval)
        last = place
    return level, interval


def unbiased_croston(series: Sequence[float], alpha: float) -> float:
    """Forecast a period with the bias of the ratio taken out (Syntetos and Boylan 2005)."""
    level, interval = croston(series, alpha)
    return (1 - alpha / 2) * level / interval


def size_and_chance(series: Sequence[float], alpha_size: float, alpha_chance: float) -> tuple[float, float]:
    """Size of a demand, and the chance of one smoothed in every period (Teunter, Syntetos and Babai 2011)."""
    level, chance = float(next(size for size in series if size)), float(series[0] > 0)
    for size in series[1:]:
        chance += alpha_chance * ((size > 0) - chance)
        if size:
            level += alpha_size * (size - level)
    return level, chance
