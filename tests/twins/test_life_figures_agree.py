"""Part life and repairs by age against their twins: the same drawn log through the public way in."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.twins import lives, part_rate
from tests.twins.harness import differences, loaded
from tests.twins.strategies import StandardLog, bulk_logs, standard_logs
from tests.twins.test_figures_agree import answered, keyed, often, twin_of

EXAMPLES, MANY_EXAMPLES = 10, 150
BULK_EXAMPLES, MANY_BULK_EXAMPLES = 5, 60


def assert_lives_agree(log: StandardLog) -> None:
    twin = twin_of(log)
    found = []
    with loaded(log) as con:
        for days in (30, 365):
            rows = answered(con, twin, "part-life", by=("part_no", "action"), days=days)
            got = keyed([row for row in rows if row["action"] != "first life"], "part_no", "action")
            expected = lives.part_lives(twin.machines, twin.start, twin.end(closed=True), days)
            found += [f"part life {days}: {each}" for each in differences(expected, got)]
        for basis in (part_rate.LIST, part_rate.SEEN):
            rows = answered(con, twin, "repairs-by-age", basis=basis)
            got = {(str(row["age_years"]),): row for row in rows}
            expected = lives.repairs_by_age(
                twin.machines, basis, twin.start, twin.end(closed=False), twin.windows.first_on
            )
            found += [f"repairs by age {basis}: {each}" for each in differences(expected, got)]
    assert not found, "\n".join(found)


@often(EXAMPLES)
@given(standard_logs())
def test_lives_agree_with_their_twins(log: StandardLog) -> None:
    assert_lives_agree(log)


@often(BULK_EXAMPLES)
@given(bulk_logs())
def test_lives_agree_with_their_twins_where_there_is_much_to_count(log: StandardLog) -> None:
    assert_lives_agree(log)


@pytest.mark.full
@pytest.mark.parametrize(
    ("logs", "examples"), [(standard_logs(), MANY_EXAMPLES), (bulk_logs(), MANY_BULK_EXAMPLES)]
)
def test_lives_agree_with_their_twins_on_many_logs(
    logs: st.SearchStrategy[StandardLog], examples: int
) -> None:
    often(examples)(given(logs)(assert_lives_agree))()
