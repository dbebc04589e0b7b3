-- One row per make and serial that stands beside exactly one unit_id, in the log or in the machine list.
with
seen as (
    select lower(make) as make_key, serial, unit_id
    from tables.given_heads
    where make is not null and serial is not null and unit_id is not null
    union
    select lower(make), serial, unit_id
    from tables.machine_list
    where make is not null and serial is not null and unit_id is not null
)

select
    make_key,
    serial,
    min(unit_id) as unit_id,
from seen
group by make_key, serial
having min(unit_id) = max(unit_id)
