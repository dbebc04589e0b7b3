-- One row per site and kind of machine: how many machines of that kind are known there by a number, how many makes and
-- models.
with
seen as (
    select heads.site_id, heads.unit_type, lower(heads.make) as make, heads.model, numbered.machine_key
    from tables.given_heads as heads
    left join tables.numbered_machines as numbered on numbered.job_no = heads.job_no
    where heads.site_id is not null and heads.unit_type is not null
    union
    select listed.site_id, listed.unit_type, lower(listed.make), listed.model, coalesce('unit: ' || units.unit_id, listed.list_key)
    from tables.machine_list as listed
    left join tables.serial_units as units
        on listed.unit_id is null and units.make_key = lower(listed.make) and units.serial = listed.serial
    where listed.site_id is not null and listed.unit_type is not null
)

select
    site_id,
    unit_type,
    count(distinct machine_key) as count_numbered,
    count(distinct make) as count_makes,
    count(distinct model) as count_models,
    min(machine_key) as machine_key,
from seen
group by site_id, unit_type
