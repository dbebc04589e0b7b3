-- One row per job with a cause outside the machine and earlier fix: the same symptom on the machine, fixed within
-- guarantee_days before this report. What was done then may have been done for nothing; nobody can be sure of it.
with
found as (
    select distinct job_no
    from facts.outside_causes
),

jobs as (
    select job_no, machine_no, reported_at, reported_on, finished_at, finished_on, is_index
    from tables.jobs
    where is_fault and machine_no is not null and reported_at is not null
),

earlier as (
    select jobs.job_no, before.job_no as earlier_job_no
    from found
    join jobs on jobs.job_no = found.job_no
    cross join settings."values" as settings
    join jobs as before
        on before.machine_no = jobs.machine_no
        and before.is_index
        and before.finished_at < jobs.reported_at
        and before.finished_on + cast(settings.guarantee_days as integer) >= jobs.reported_on
)

select distinct
    earlier.job_no,
    earlier.earlier_job_no,
from earlier
join tables.job_symptoms as shown on shown.job_no = earlier.earlier_job_no
join tables.job_symptoms as again on again.job_no = earlier.job_no and again.symptom = shown.symptom
where earlier.earlier_job_no not in (select job_no from found)
