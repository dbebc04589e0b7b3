-- One row per job: one reported problem on one machine.
-- Fault jobs (workshop jobs among them) are the failures, index jobs and returns. An index job is a fault job whose
-- last attended visit ended fixed, at a known time.
with
costs as (
    select job_no, cast(sum(part_cost_minor) as bigint) as part_cost_minor
    from tables.lines
    where part_cost_minor is not null
    group by job_no
),

-- Where there was one visit, whoever came last chose too.
choosers as (
    select chosen.job_no, chosen.technician
    from tables.fix_choosers as chosen
    join tables.visits as second on second.job_no = chosen.job_no and second.visit_no = 2
),

joined as (
    select
        heads.job_no,
        heads.source,
        heads.job_id,
        coalesce(heads.job_kind, 'fault') as job_kind,
        links.machine_no,
        links.machine_rung,
        coalesce(heads.unit_type, machines.unit_type) as unit_type,
        coalesce(heads.make, machines.make) as make,
        coalesce(heads.model, machines.model) as model,
        heads.fitting,
        heads.site_id,
        heads.site_kind,
        heads.area,
        heads.symptom,
        heads.fault_code,
        heads.reported_at,
        heads.reported_on,
        -- A finish written without its time of day is not before a report of the same day.
        case
            when ends.finished_on = heads.reported_on then greatest(ends.finished_at, heads.reported_at)
            else ends.finished_at
        end as finished_at,
        ends.finished_on,
        ends.first_visit_on,
        ends.outcome,
        ends.is_closed,
        ends.first_attended_no,
        ends.last_attended_no,
        ends.count_visits,
        ends.hands_on_min,
        -- A machine in the workshop is travelled to by nobody.
        case when coalesce(heads.job_kind, 'fault') <> 'workshop' then ends.travel_min end as travel_min,
        coalesce(machines.age_origin_on, heads.installed_on, heads.made_on) as age_origin_on,
        heads.age_years as told_age_years,
        ends.payer,
        heads.return_of,
        heads.return_reason,
        coalesce(choosers.technician, ends.technician_last) as technician,
        ends.technician_last as technician_fitted,
        ends.second_visit_reason,
        ends.currency,
        ends.charge_minor,
        costs.part_cost_minor,
    from tables.job_heads as heads
    join tables.job_ends as ends on ends.job_no = heads.job_no
    join tables.job_machines as links on links.job_no = heads.job_no
    left join tables.machines as machines on machines.machine_no = links.machine_no
    left join choosers on choosers.job_no = heads.job_no
    left join costs on costs.job_no = heads.job_no
)

select
    * exclude (age_origin_on, told_age_years),
    job_kind in ('fault', 'workshop') as is_fault,
    job_kind in ('fault', 'workshop')
        and coalesce(outcome, '') = 'fixed'
        and finished_at is not null as is_index,
    coalesce(cast(date_diff('day', age_origin_on, reported_on) as double) / 365.25, told_age_years) as age_years,
from joined
