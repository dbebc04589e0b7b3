-- One row per fault job and later fix: the same symptom reported again within repeat_days of the finish, and fixed by
-- work on a part.
with
faults as (
    select job_no, machine_no, reported_at, reported_on, finished_at, finished_on, is_index
    from tables.jobs
    where is_fault and machine_no is not null and reported_at is not null
),

later as (
    select
        earlier.job_no,
        later.job_no as later_job_no,
    from faults as earlier
    cross join settings."values" as settings
    join faults as later
        on later.machine_no = earlier.machine_no
        and later.reported_at > earlier.finished_at
        and later.reported_on <= earlier.finished_on + cast(settings.repeat_days as integer)
        and later.is_index
),

same_symptom as (
    select distinct later.job_no, later.later_job_no
    from later
    join tables.job_symptoms as shown on shown.job_no = later.job_no
    join tables.job_symptoms as again on again.job_no = later.later_job_no and again.symptom = shown.symptom
)

select same_symptom.*
from same_symptom
where same_symptom.later_job_no in (select job_no from facts.job_parts)
