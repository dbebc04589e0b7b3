-- One row per machine, in the log or listed; what the machine list says comes first, then what the log said first.
-- A block of serials that fewer than ten machines of a make share is pooled as "other blocks": it would be nearly a serial.
-- The end of a machine is the day it was removed or the day it was found beyond economic repair, whichever came first.
with
jobs as (
    select
        machines.machine_no,
        heads.*,
        ends.outcome,
        ends.finished_on,
        row_number() over (
            partition by machines.machine_no order by heads.reported_at nulls last, heads.job_no
        ) as place,
    from tables.job_machines as machines
    join tables.job_heads as heads on heads.job_no = machines.job_no
    join tables.job_ends as ends on ends.job_no = machines.job_no
    where machines.machine_no is not null
),

logged as (
    select
        machine_no,
        min_by(unit_id, case when unit_id is not null then place end) as unit_id,
        min_by(unit_type, case when unit_type is not null then place end) as unit_type,
        min_by(make, case when make is not null then place end) as make,
        min_by(model, case when model is not null then place end) as model,
        min_by(serial, case when serial is not null then place end) as serial,
        min_by(made_on, case when made_on is not null then place end) as made_on,
        min_by(installed_on, case when installed_on is not null then place end) as installed_on,
        min_by(site_id, case when site_id is not null then place end) as site_id,
        -- An age that was told dates the machine back from the report.
        min_by(
            cast(reported_on - cast(round(age_years * 365.25) as integer) as date),
            case when age_years is not null and reported_on is not null then place end
        ) as told_origin_on,
        min(reported_on) as first_report_on,
        min(case when place = 1 then finished_on end) as first_finish_on,
        min(case when place = 1 then job_no end) as first_job_no,
        max(last_day_on) as last_contact_on,
        min(case when outcome = 'beyond economic repair' then finished_on end) as written_off_on,
    from jobs
    group by machine_no
),

listed as (
    select
        coalesce('unit: ' || units.unit_id, list.list_key) as machine_key,
        min(list.unit_id) as unit_id,
        min_by(list.unit_type, list.first_row_no) as unit_type,
        min_by(list.make, case when list.make is not null then list.first_row_no end) as make,
        min_by(list.model, case when list.model is not null then list.first_row_no end) as model,
        min_by(list.serial, case when list.serial is not null then list.first_row_no end) as serial,
        min(list.installed_on) as installed_on,
        min(list.removed_on) as removed_on,
        min(list.site_id) as site_id,
    from tables.machine_list as list
    left join tables.serial_units as units
        on list.unit_id is null and units.make_key = lower(list.make) and units.serial = list.serial
    group by 1
),

joined as (
    select
        numbers.machine_no,
        coalesce(listed.unit_id, logged.unit_id) as unit_id,
        coalesce(listed.unit_type, logged.unit_type) as unit_type,
        coalesce(listed.make, logged.make) as make,
        coalesce(listed.model, logged.model) as model,
        coalesce(listed.serial, logged.serial) as serial,
        logged.made_on,
        coalesce(listed.installed_on, logged.installed_on) as installed_on,
        listed.removed_on,
        coalesce(listed.site_id, logged.site_id) as site_id,
        listed.machine_key is not null as is_listed,
        logged.first_job_no,
        logged.first_report_on,
        logged.first_finish_on,
        logged.last_contact_on,
        logged.written_off_on,
        logged.told_origin_on,
    from tables.machine_numbers as numbers
    left join listed on listed.machine_key = numbers.machine_key
    left join logged on logged.machine_no = numbers.machine_no
),

told as (
    select
        joined.*,
        serials.serial_block as block_as_told,
        -- Made after it was installed or broke down: the serial was read by the wrong pattern.
        case
            when
                serials.made_week
                <= coalesce(least(first_report_on, installed_on), first_report_on, installed_on, serials.made_week)
                then serials.made_week
        end as made_week,
    from joined
    left join normalise.serials as serials on serials.serial = joined.serial
)

select
    machine_no,
    unit_id,
    unit_type,
    make,
    model,
    case
        when block_as_told is null then null
        when count(*) over (partition by lower(make), block_as_told) >= 10 then block_as_told
        else 'other blocks'
    end as serial_block,
    made_week,
    coalesce(made_on, made_week) as made_on,
    installed_on,
    removed_on,
    site_id,
    is_listed,
    first_job_no,
    first_report_on,
    first_finish_on,
    last_contact_on,
    written_off_on,
    coalesce(least(removed_on, written_off_on), removed_on, written_off_on) as ended_on,
    case
        when removed_on <= coalesce(written_off_on, removed_on) then 'removed'
        when written_off_on is not null then 'beyond economic repair'
    end as ended_by,
    coalesce(installed_on, made_on, made_week, told_origin_on) as age_origin_on,
from told
