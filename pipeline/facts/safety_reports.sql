-- One row per safety report: a job whose symptom, finding or note tells of a danger, or rows set aside that do.
-- A row set aside (for a bad date, say) reports its danger all the same. reported_on is the day of the report; of a danger
-- first told at a later visit, or in a log without that day, the day of the visit. days_since_own_visit counts from the
-- last visit of ours that was finished before; null where the machine, the day or such a visit is not known.
with
told as (
    select
        dangers.row_no,
        dangers.column_name,
        dangers.danger,
        lines.source,
        lines.job_id,
        lines.unit_id,
        lines.unit_type,
        lines.make,
        lines.model,
        coalesce(lines.reported_at, lines.started_at, lines.finished_at) as reported_at,
        coalesce(lines.reported_on, lines.started_on, lines.finished_on) as reported_on,
        coalesce(used.job_no, others.job_no) as job_no,
        used.visit_no,
        case
            when used.job_no is not null then 'job ' || cast(used.job_no as varchar)
            -- A row set aside of a job that has others: one report.
            when others.job_no is not null then 'job ' || cast(others.job_no as varchar)
            when lines.job_no is not null then 'number ' || cast(lines.job_no as varchar)
            else 'row ' || cast(dangers.row_no as varchar)
        end as report_key,
    from normalise.row_dangers as dangers
    join normalise.lines as lines on lines.row_no = dangers.row_no
    left join tables.lines as used on used.row_no = dangers.row_no
    left join tables.joined_jobs as joined on joined.given_no = lines.job_no
    left join tables.jobs as others on others.job_no = coalesce(joined.job_no, lines.job_no)
    left join tables.unused_rows as unused on unused.row_no = dangers.row_no
    -- What a later file replaced no longer counts, and a copy says nothing new.
    where coalesce(unused.fate, 'set aside') = 'set aside'
),

sets as (
    select
        kinds.report_key,
        sum(kinds.bit) as danger_set,
    from (
        select distinct
            told.report_key,
            bits.bit,
        from told
        join normalise.danger_bits as bits on bits.danger = told.danger
    ) as kinds
    group by kinds.report_key
),

grouped as (
    select
        report_key,
        min(job_no) as job_no,
        min(visit_no) as visit_no,
        min(source) as source,
        min(job_id) as job_id,
        min(unit_id) as unit_id,
        min(unit_type) as unit_type,
        min(make) as make,
        min(model) as model,
        min(reported_at) as reported_at,
        min(reported_on) as reported_on,
        concat_ws(
            '; ',
            max(case when column_name = 'symptom' then 'symptom' end),
            max(case when column_name = 'finding' then 'finding' end),
            max(case when column_name = 'note' then 'note' end)
        ) as told_in,
    from told
    group by report_key
),

reports as (
    select
        grouped.report_key,
        grouped.job_no,
        grouped.visit_no,
        coalesce(jobs.source, grouped.source) as source,
        coalesce(jobs.job_id, grouped.job_id) as job_id,
        coalesce(jobs.machine_no, machines.machine_no) as machine_no,
        coalesce(jobs.unit_type, grouped.unit_type, machines.unit_type) as unit_type,
        coalesce(jobs.make, grouped.make, machines.make) as make,
        coalesce(jobs.model, grouped.model, machines.model) as model,
        case
            when grouped.visit_no > 1 then coalesce(visits.started_at, visits.finished_at)
            else coalesce(jobs.reported_at, grouped.reported_at, visits.started_at, visits.finished_at)
        end as told_at,
        case
            when grouped.visit_no > 1 then coalesce(visits.started_on, visits.finished_on)
            else coalesce(jobs.reported_on, grouped.reported_on, visits.started_on, visits.finished_on)
        end as told_on,
        grouped.told_in,
        jobs.outcome,
        grouped.job_no is null as is_set_aside,
    from grouped
    left join tables.jobs as jobs on jobs.job_no = grouped.job_no
    left join tables.visits as visits on visits.job_no = grouped.job_no and visits.visit_no = grouped.visit_no
    left join (select min(machine_no) as machine_no, unit_id from tables.machines group by unit_id) as numbers
        on grouped.job_no is null and numbers.unit_id = grouped.unit_id
    left join tables.machines as machines on machines.machine_no = numbers.machine_no
),

-- Visits of ours that may stand before a report: to the machine, and the earlier ones of the job itself.
own_visits as (
    select
        reports.report_key,
        reports.told_on,
        visits.finished_at,
        visits.finished_on,
        jobs.job_id,
    from reports
    join tables.jobs as jobs on jobs.machine_no = reports.machine_no
    join tables.visits as visits on visits.job_no = jobs.job_no
    where visits.is_attended
        and visits.finished_at <= reports.told_at
        and (reports.job_no is null or visits.job_no <> reports.job_no)
    union all
    select
        reports.report_key,
        reports.told_on,
        visits.finished_at,
        visits.finished_on,
        reports.job_id,
    from reports
    join tables.visits as visits on visits.job_no = reports.job_no
    where visits.is_attended
        and visits.visit_no < reports.visit_no
        and visits.finished_at <= reports.told_at
),

last_visits as (
    select
        report_key,
        max_by(job_id, finished_at) as own_job_id,
        max_by(cast(date_diff('day', finished_on, told_on) as integer), finished_at) as days_since_own_visit,
    from own_visits
    group by report_key
)

select
    reports.source,
    reports.job_id,
    reports.job_no,
    reports.told_on as reported_on,
    reports.unit_type,
    reports.make,
    reports.model,
    reports.machine_no,
    danger_sets.dangers as danger,
    reports.told_in,
    last_visits.days_since_own_visit,
    last_visits.own_job_id,
    coalesce(last_visits.days_since_own_visit <= settings.repeat_days, false) as is_soon_after_own_visit,
    reports.outcome,
    reports.is_set_aside,
from reports
join sets on sets.report_key = reports.report_key
join normalise.danger_sets as danger_sets on danger_sets.danger_set = sets.danger_set
left join last_visits on last_visits.report_key = reports.report_key
cross join settings."values" as settings
