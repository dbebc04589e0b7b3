"""What ends the time that a machine is followed after a job: a report, the machine's end, or the end of the window."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.competing import CENSORED

SAME_FAULT, OTHER, LEFT = 0, 1, 2


def first_end(records: pl.DataFrame) -> tuple[NDArray[Any], NDArray[Any]]:
    """
    Day and cause of what ended each follow-up first.

    Parameters
    ----------
    records : DataFrame
        `days_to_next` and `next_is_same_fault` of the first later report, `days_to_leave` of the machine's end
        (null where there is none), `days_followed` to the last day of the window.

    Returns
    -------
    time, cause : arrays (records,)
        Days; SAME_FAULT, OTHER, LEFT or CENSORED. A report on the day of leaving comes before the leaving.
    """
    time, came, left = ended_by(records)
    same = records["next_is_same_fault"].fill_null(value=False).to_numpy()
    cause = np.where(came, np.where(same, SAME_FAULT, OTHER), np.where(left, LEFT, CENSORED))
    return time, cause.astype(np.int64)


def ended_by(records: pl.DataFrame) -> tuple[NDArray[np.int64], NDArray[np.bool_], NDArray[np.bool_]]:
    """
    Day on which each follow-up ended, and by what.

    Parameters
    ----------
    records : DataFrame
        `days_to_next`, `days_to_leave` and `days_followed`, as of `first_end`; the next event may be of any kind.

    Returns
    -------
    time, came, left : arrays (records,)
        Days; whether the event came first, whether leaving did. An event on the day of leaving comes before it.
    """
    never = np.iinfo(np.int64).max
    following = records["days_followed"].to_numpy()
    coming = records["days_to_next"].fill_null(never).to_numpy()
    leaving = np.maximum(records["days_to_leave"].fill_null(never).to_numpy(), 0)
    came = (coming <= following) & (coming <= leaving)
    left = ~came & (leaving <= following)
    time = np.where(came, coming, np.where(left, leaving, following))
    return time.astype(np.int64), came, left
