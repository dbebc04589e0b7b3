"""
Which number a part has on the machine that is asked about: the same part has another number in another family of models.

A family is a make's models whose names begin with the same letters ("HW 7", "HW 9"): common practice, no source.
"""

from __future__ import annotations

import re

import duckdb

from pipeline.measures.query import ask
from pipeline.measures.symptom_words import Understood

_SAME_NAME = """
with
names as (select distinct part_name from tables.parts where list_contains($keys, part_key) and part_name is not null)
select parts.part_name, needs.part_key, jobs.make, jobs.model, count(*) as jobs
from tables.parts as parts
join names on names.part_name = parts.part_name
join facts.part_needs as needs on needs.part_key = parts.part_key
join tables.jobs as jobs on jobs.job_no = needs.job_no
where jobs.model is not null and ($kind is null or jobs.unit_type = $kind)
group by all
order by all
"""
_MAKES = "select distinct make from tables.jobs where model = $1 and ($2 is null or unit_type = $2)"


def own_numbers(con: duckdb.DuckDBPyConnection, keys: list[str], understood: Understood) -> dict[str, str]:
    """
    For parts of other models: the part of the same name that this model takes.

    Where the model is not known, or nobody fitted a part of that name to it or its family, a part stays itself.
    """
    if not understood.model or not keys:
        return {}
    rows = ask(con, _SAME_NAME, {"keys": keys, "kind": understood.unit_type}).rows()
    makes = {
        make for (make,) in con.execute(_MAKES, [understood.model, understood.unit_type]).fetchall() if make
    }
    mine = [row for row in rows if row[3] == understood.model]
    family = [row for row in rows if row[2] in makes and series(row[3]) == series(understood.model)]
    own = _most_often(family) | _most_often(mine)
    return {
        key: own[name]
        for name, key, _, _, _ in rows
        if name in own and own[name] != key and key not in {k for n, k, *_ in mine if n == name}
    }


def series(model: str) -> str:
    """The letters that a model's name begins with."""
    return re.split(r"[\d]", model.casefold(), maxsplit=1)[0].strip(" -/.")


def _most_often(rows: list[tuple[str, str, str, str, int]]) -> dict[str, str]:
    jobs: dict[tuple[str, str], int] = {}
    for name, key, _, _, count in rows:
        jobs[name, key] = jobs.get((name, key), 0) + count
    order = sorted(jobs, key=lambda each: (jobs[each], each[1]))
    return dict(order)
