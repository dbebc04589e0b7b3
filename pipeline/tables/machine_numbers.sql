-- One row per machine, in the log or listed: its number, in the order of the keys.
with
every as (
    select machine_key
    from tables.given_keys
    where machine_key is not null
    union
    select coalesce('unit: ' || units.unit_id, listed.list_key)
    from tables.machine_list as listed
    left join tables.serial_units as units
        on listed.unit_id is null and units.make_key = lower(listed.make) and units.serial = listed.serial
)

select
    machine_key,
    row_number() over (order by machine_key) as machine_no,
from every
