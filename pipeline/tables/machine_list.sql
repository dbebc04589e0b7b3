-- One row per machine of the machine list; where a machine is listed twice the first value written is kept.
with
listed as (
    select
        *,
        case
            when unit_id is not null then 'unit: ' || unit_id
            when make is not null and serial is not null then 'serial: ' || lower(make) || ' ' || serial
        end as list_key,
    from normalise.machine_list
    where problem_reason is null
),

machines as (
    select
        list_key,
        min(row_no) as first_row_no,
        min_by(unit_id, case when unit_id is not null then row_no end) as unit_id,
        min_by(unit_type, case when unit_type is not null then row_no end) as unit_type,
        min_by(make, case when make is not null then row_no end) as make,
        min_by(model, case when model is not null then row_no end) as model,
        min_by(serial, case when serial is not null then row_no end) as serial,
        min_by(installed_on, case when installed_on is not null then row_no end) as installed_on,
        min_by(removed_on, case when removed_on is not null then row_no end) as removed_on,
        min_by(site_id, case when site_id is not null then row_no end) as site_id,
    from listed
    where list_key is not null
    group by list_key
)

select * from machines
