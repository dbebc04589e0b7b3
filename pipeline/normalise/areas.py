"""Areas of a log: one with few addresses is pooled with the others, so that it singles out nobody's household."""

from __future__ import annotations

import duckdb

# As for a count that may leave the firm (pipeline/sharing/protection.py): a neighbour who knows the area and the kind of
# machine should still have ten addresses to choose from. How many people live there is not known, so addresses count.
FEWEST_SITES = 10
OTHER_AREAS = "other areas"


def read_areas(con: duckdb.DuckDBPyConnection) -> None:
    """
    Create normalise.areas: one row per area that is kept by its name, with its addresses.

    A machine stands for its address where no address is recorded, a job where no machine is.
    """
    con.execute(
        f"""
        create or replace table normalise.areas as
        select postcode as area, count(distinct hash(place)) as count_sites
        from (
            select postcode, coalesce(site_id, unit_id, serial, source || ' ' || job_id, cast(record as varchar)) as place
            from received.rows where postcode is not null and row_problem is null
        ) as places
        group by postcode having count(distinct hash(place)) >= {FEWEST_SITES}
        """
    )


# Joined to rows as written.
AREA = f"case when written.postcode is not null then coalesce(areas.area, '{OTHER_AREAS}') end"
AREA_JOIN = "left join normalise.areas as areas on areas.area = written.postcode"
