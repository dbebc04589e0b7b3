-- One row per job as given whose machine is known by a number: its unit_id, else its make and serial.
select
    heads.job_no,
    case
        when heads.unit_id is not null then 'unit: ' || heads.unit_id
        when units.unit_id is not null then 'unit: ' || units.unit_id
        else 'serial: ' || lower(heads.make) || ' ' || heads.serial
    end as machine_key,
    case when heads.unit_id is not null then 'unit_id' else 'make + serial' end as rung,
from tables.given_heads as heads
left join tables.serial_units as units on units.make_key = lower(heads.make) and units.serial = heads.serial
where heads.unit_id is not null or (heads.make is not null and heads.serial is not null)
