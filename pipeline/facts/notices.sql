-- One row per notice that could be read, with the machines of the log or the machine list that it may concern.
-- Matched by make and model without case, spaces, hyphens, dots and slashes; a notice without a model concerns every model
-- of its make. Serials are pseudonymised whole, so whether one lies in the range is read off the plate.
with
notices as (
    select
        *,
        replace(replace(replace(replace(lower(make), ' ', ''), '-', ''), '.', ''), '/', '') as make_key,
        replace(replace(replace(replace(lower(model), ' ', ''), '-', ''), '.', ''), '/', '') as model_key,
    from tables.notices
),

jobs as (
    select
        coalesce(make, '') as make,
        coalesce(model, '') as model,
        machine_no,
        job_no,
        job_id,
        reported_on,
    from tables.jobs
    where make is not null or model is not null
    union all
    -- A machine that is listed and was never seen may be concerned too.
    select
        coalesce(make, ''),
        coalesce(model, ''),
        machine_no,
        null,
        null,
        null,
    from tables.machines
    where first_job_no is null and (make is not null or model is not null)
),

models as (
    select
        make,
        model,
        replace(replace(replace(replace(lower(make), ' ', ''), '-', ''), '.', ''), '/', '') as make_key,
        replace(replace(replace(replace(lower(model), ' ', ''), '-', ''), '.', ''), '/', '') as model_key,
    from (select distinct make, model from jobs) as written
),

counted as (
    select
        notices.row_no,
        count(distinct jobs.machine_no) as count_machines,
        count(jobs.job_no) as count_jobs,
        count(case when jobs.machine_no is null then jobs.job_no end) as count_jobs_unknown,
        max(jobs.reported_on) as last_reported_on,
        max_by(jobs.job_id, jobs.reported_on) as last_job_id,
    from notices
    join models
        on (notices.make_key is null or notices.make_key = models.make_key)
        and (notices.model_key is null or notices.model_key = models.model_key)
        and (notices.make_key is not null or notices.model_key is not null)
    join jobs on jobs.make = models.make and jobs.model = models.model
    group by notices.row_no
)

select
    notices.row_no,
    notices.make,
    notices.model,
    notices.serial_from,
    notices.serial_to,
    notices.text,
    notices.reference,
    notices.dated_on,
    notices.make_key,
    notices.model_key,
    coalesce(counted.count_machines, 0) as count_machines,
    coalesce(counted.count_jobs, 0) as count_jobs,
    coalesce(counted.count_jobs_unknown, 0) as count_jobs_unknown,
    counted.last_reported_on,
    counted.last_job_id,
from notices
left join counted on counted.row_no = notices.row_no
