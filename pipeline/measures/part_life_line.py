"""Part life as a line to draw (measure book, section 4)."""

from __future__ import annotations

from collections.abc import Mapping

import duckdb
import numpy as np

from pipeline.estimators.line import incidence_line
from pipeline.measures.groups import positions
from pipeline.measures.life_records import WORKED_AGAIN, ends, followed, grouping
from pipeline.measures.lines import Line, of, points
from pipeline.measures.question import Question
from pipeline.measures.window import resolve

YEAR = 365
LINE_POINTS = 74  # a year in steps of five days


def part_life_line(con: duckdb.DuckDBPyConnection, question: Question, only: Mapping[str, str]) -> Line:
    """
    Probability that a part is worked on again, by each day of the first year (or of `days`, where more are asked for).

    Parameters
    ----------
    con, question
        As for `part_life`.
    only : mapping
        Values of group columns: only such groups are drawn.

    Raises
    ------
    CannotAnswerError
        As `part_life`.
    """
    bounds, groups = resolve(con, question, needs_closed_jobs=True), grouping(question)
    records = of(followed(con, groups, bounds), only)
    keys, at = positions(records, groups.names)
    time, cause = ends(records)
    days = np.unique(np.linspace(0, max(YEAR, question.days), LINE_POINTS).round().astype(np.int64))
    line = incidence_line(
        at,
        time,
        cause,
        records["machine_no"].to_numpy(),
        groups=len(keys),
        days=days,
        n_causes=2,
        causes=(WORKED_AGAIN,),
        level=question.level,
    )
    said = "probability that the part was worked on again"
    return Line(points(keys, groups.names, days, line), groups.names, "days since the fix", said)
