-- One row per fault job and cause outside the machine, with what was done about it: a fix of its own.
with
found as (
    select lines.job_no, lines.outside_cause as cause, lines.action
    from tables.lines as lines
    join tables.jobs as jobs on jobs.job_no = lines.job_no and jobs.is_fault
    where lines.is_outside_cause
)

-- Where both were done, the correction says more than the advice.
select
    job_no,
    cause,
    max(action) as action,
from found
group by job_no, cause
