-- One row per column that should say the same on every line of a job or a visit, with how often it does not.
-- Lines with the same mark agree; only the others are compared value by value.
with
-- A job of one line cannot disagree with itself.
several as (
    select job_no, min(job_mark) <> max(job_mark) as is_doubtful
    from tables.used_lines
    group by job_no
    having count(*) > 1
),

doubtful_jobs as (
    select job_no
    from several
    where is_doubtful
),

doubtful_visits as (
    select job_no, visit_ref
    from tables.used_lines
    where job_no in (select job_no from several)
    group by job_no, visit_ref
    having min(visit_mark) <> max(visit_mark)
),

by_job as (
    select
        min(job_kind) <> max(job_kind) as job_kind,
        min(return_of) <> max(return_of) as return_of,
        min(return_reason) <> max(return_reason) as return_reason,
        min(unit_id) <> max(unit_id) as unit_id,
        min(unit_type) <> max(unit_type) as unit_type,
        min(make) <> max(make) as make,
        min(model) <> max(model) as model,
        min(serial) <> max(serial) as serial,
        min(made_on) <> max(made_on) as made_on,
        min(installed_on) <> max(installed_on) as installed_on,
        min(age_years) <> max(age_years) as age_years,
        min(fitting) <> max(fitting) as fitting,
        min(site_id) <> max(site_id) as site_id,
        min(site_kind) <> max(site_kind) as site_kind,
        min(area) <> max(area) as area,
        -- Visits that were joined into a job may each have a report of their own.
        min(reported_at) <> max(reported_at) and min(joined_no) is null as reported_at,
    from tables.used_lines as used
    left join (select distinct job_no as joined_no from tables.joined_jobs) as joined on joined.joined_no = used.job_no
    where job_no in (select job_no from doubtful_jobs)
    group by job_no
),

by_visit as (
    select
        min(used.booked_for_at) <> max(used.booked_for_at) as booked_for_at,
        min(used.started_at) <> max(used.started_at) as started_at,
        min(used.finished_at) <> max(used.finished_at) as finished_at,
        min(used.hands_on_min) <> max(used.hands_on_min) as hands_on_min,
        min(used.travel_min) <> max(used.travel_min) as travel_min,
        min(used.technician) <> max(used.technician) as technician,
        min(used.payer) <> max(used.payer) as payer,
        min(used.outcome) <> max(used.outcome) as outcome,
        min(used.second_visit_reason) <> max(used.second_visit_reason) as second_visit_reason,
        min(used.advised_not_done) <> max(used.advised_not_done) as advised_not_done,
        min(used.installation_looked_at) <> max(used.installation_looked_at) as installation_looked_at,
        min(used.test_run) <> max(used.test_run) as test_run,
        min(used.leak_check) <> max(used.leak_check) as leak_check,
        min(used.safety_test) <> max(used.safety_test) as safety_test,
        min(used.charge_minor) <> max(used.charge_minor) as charge_minor,
        min(used.callout_charge_minor) <> max(used.callout_charge_minor) as callout_charge_minor,
        min(used.labour_charge_minor) <> max(used.labour_charge_minor) as labour_charge_minor,
        min(used.part_charge_minor) <> max(used.part_charge_minor) as part_charge_minor,
    from tables.used_lines as used
    join doubtful_visits as doubtful
        on doubtful.job_no = used.job_no and doubtful.visit_ref = used.visit_ref
    group by used.job_no, used.visit_ref
),

counted as (
    select 'job_kind' as column_name, 'job' as level, count(*) filter (where job_kind) as count_disagreeing from by_job
    union all
    select 'return_of' as column_name, 'job' as level, count(*) filter (where return_of) as count_disagreeing from by_job
    union all
    select 'return_reason' as column_name, 'job' as level, count(*) filter (where return_reason) as count_disagreeing from by_job
    union all
    select 'unit_id' as column_name, 'job' as level, count(*) filter (where unit_id) as count_disagreeing from by_job
    union all
    select 'unit_type' as column_name, 'job' as level, count(*) filter (where unit_type) as count_disagreeing from by_job
    union all
    select 'make' as column_name, 'job' as level, count(*) filter (where make) as count_disagreeing from by_job
    union all
    select 'model' as column_name, 'job' as level, count(*) filter (where model) as count_disagreeing from by_job
    union all
    select 'serial' as column_name, 'job' as level, count(*) filter (where serial) as count_disagreeing from by_job
    union all
    select 'made_on' as column_name, 'job' as level, count(*) filter (where made_on) as count_disagreeing from by_job
    union all
    select 'installed_on' as column_name, 'job' as level, count(*) filter (where installed_on) as count_disagreeing from by_job
    union all
    select 'age_years' as column_name, 'job' as level, count(*) filter (where age_years) as count_disagreeing from by_job
    union all
    select 'fitting' as column_name, 'job' as level, count(*) filter (where fitting) as count_disagreeing from by_job
    union all
    select 'site_id' as column_name, 'job' as level, count(*) filter (where site_id) as count_disagreeing from by_job
    union all
    select 'site_kind' as column_name, 'job' as level, count(*) filter (where site_kind) as count_disagreeing from by_job
    union all
    select 'area' as column_name, 'job' as level, count(*) filter (where area) as count_disagreeing from by_job
    union all
    select 'reported_at' as column_name, 'job' as level, count(*) filter (where reported_at) as count_disagreeing from by_job
    union all
    select 'booked_for_at', 'visit', count(*) filter (where booked_for_at) from by_visit
    union all
    select 'started_at', 'visit', count(*) filter (where started_at) from by_visit
    union all
    select 'finished_at', 'visit', count(*) filter (where finished_at) from by_visit
    union all
    select 'hands_on_min', 'visit', count(*) filter (where hands_on_min) from by_visit
    union all
    select 'travel_min', 'visit', count(*) filter (where travel_min) from by_visit
    union all
    select 'technician', 'visit', count(*) filter (where technician) from by_visit
    union all
    select 'payer', 'visit', count(*) filter (where payer) from by_visit
    union all
    select 'outcome', 'visit', count(*) filter (where outcome) from by_visit
    union all
    select 'second_visit_reason', 'visit', count(*) filter (where second_visit_reason) from by_visit
    union all
    select 'advised_not_done', 'visit', count(*) filter (where advised_not_done) from by_visit
    union all
    select 'installation_looked_at', 'visit', count(*) filter (where installation_looked_at) from by_visit
    union all
    select 'test_run', 'visit', count(*) filter (where test_run) from by_visit
    union all
    select 'leak_check', 'visit', count(*) filter (where leak_check) from by_visit
    union all
    select 'safety_test', 'visit', count(*) filter (where safety_test) from by_visit
    union all
    select 'charge_minor', 'visit', count(*) filter (where charge_minor) from by_visit
    union all
    select 'callout_charge_minor', 'visit', count(*) filter (where callout_charge_minor) from by_visit
    union all
    select 'labour_charge_minor', 'visit', count(*) filter (where labour_charge_minor) from by_visit
    union all
    select 'part_charge_minor', 'visit', count(*) filter (where part_charge_minor) from by_visit
)

select * from counted
