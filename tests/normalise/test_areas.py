"""An area with few addresses is pooled; one with ten keeps its name."""

import pytest

from tests.builds import built


def log(*areas):
    """A log with as many addresses in each area as asked for, two jobs each."""
    lines = [
        f"{area}{n}{visit} | {area}-{n} | {area} | washer | 2024-03-0{1 + visit} | fixed"
        for area, sites in areas
        for n in range(sites)
        for visit in range(2)
    ]
    return "\n".join(["job_id | site_id | postcode | unit_type | reported_at | outcome", *lines])


def areas_of(con):
    return dict(con.sql("select area, count(*) from tables.jobs group by all").fetchall())


@pytest.mark.parametrize(("sites", "kept"), [(10, "QX1"), (9, "other areas")])
def test_area_keeps_its_name_from_ten_addresses_on(sites, kept):
    assert areas_of(built(log(("QX1", sites), ("QX2", 12)))) == {kept: 2 * sites, "QX2": 24}


def test_rare_areas_are_one_together_and_stand_nowhere_in_the_build():
    con = built(log(("QX1", 12), ("QX7", 1), ("QX8", 3)))
    assert areas_of(con) == {"QX1": 24, "other areas": 8}
    for table in ("normalise.lines", "normalise.areas"):
        assert con.execute(f"select count(*) from {table} where area in ('QX7', 'QX8')").fetchall() == [(0,)]


def test_a_job_without_a_postcode_has_no_area():
    con = built("job_id | site_id | postcode | unit_type | reported_at\n1 | a |  | washer | 2024-03-01")
    assert areas_of(con) == {None: 1}


def test_machines_stand_for_addresses_where_none_is_recorded():
    rows = "\n".join(f"{n} | u{n} | QX1 | washer | 2024-03-01" for n in range(10))
    assert areas_of(built("job_id | unit_id | postcode | unit_type | reported_at\n" + rows)) == {"QX1": 10}
